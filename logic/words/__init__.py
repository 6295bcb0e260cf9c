"""Ids and figures in the words of the trade: said here alone."""
