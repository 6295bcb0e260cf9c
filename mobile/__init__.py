"""The phone app: it shows and asks, and decides nothing."""

__version__ = "0.2.0"
