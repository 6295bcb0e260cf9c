"""The printed record: a PDF that carries its own data."""
