"""Ids and figures in the words of the trade: the one place that says them."""
