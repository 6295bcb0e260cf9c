"""Reads a golden table: values from outside, one source a row."""

import csv

from tests.paths import GOLDEN


def rows(name: str) -> list[dict[str, str]]:
    with (GOLDEN / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        found = list(csv.DictReader(file))
    if not found or not all(row["source"] for row in found):
        raise ValueError(f"{name}.csv: every row needs a source")
    return found
