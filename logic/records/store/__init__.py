"""The store: one SQLite file and its photos; the only room with SQL."""
