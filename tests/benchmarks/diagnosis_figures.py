"""Print the diagnosis' figures on simulated vehicles, each with its interval and its target.

    python -m tests.benchmarks.diagnosis_figures [trials a row, 300] [seed, 1] [world ...]
        [--keep] [--confusions] [--dump FOLDER] [--processes 2]

Worlds: ``plain`` and ``rough`` of the field simulator, ``workshop`` the older one; all three
unless some are named.  Every row draws its own vehicles; no simulator shares code with the
engine.  Intervals hold 95 %: Wilson's for shares, a bootstrap for means and medians.  ``--keep``
writes the figures to ``diagnosis_figures.csv`` beside this file; without it the kept figure
stands beside the new one, marked ``!`` where it lies outside the new interval.
"""

import argparse
import csv
import json
import math
import os
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

from tests.simulator import trials as workshop
from tests.simulator.field import trials as field
from tests.simulator.field.conditions import WORLDS as FIELD_WORLDS
from tests.simulator.field.conditions import World
from tests.simulator.trials import Outcome, calibration_error

WORLDS = (*FIELD_WORLDS, "workshop")
KEPT = Path(__file__).with_suffix(".csv")
COLUMNS = ("world", "figure", "value", "low", "high", "trials", "seed", "date")
# Over this the engine says that nothing of its catalogue is true.
LEFT_UNEXPLAINED = 0.5
TIMED_CALLS = 40

Found = Mapping[str, Sequence[Outcome]]
Interval = tuple[float, float]


@dataclass(frozen=True)
class Row:
    """One figure of one world."""

    world: str
    figure: str
    value: float
    low: float
    high: float
    trials: int
    target: str

    @property
    def text(self) -> str:
        """The figure with its interval."""
        return f"{self.value:8.3f} {self.low:8.3f} {self.high:8.3f}"


@dataclass(frozen=True)
class Figure:
    """How a figure is worked out of the outcomes, and what it should reach in each world."""

    name: str
    kinds: tuple[str, ...]
    of: Callable[[Outcome], float] | None  # None is the calibration error
    targets: Mapping[str, str]
    is_share: bool = True
    counts: Callable[[Outcome], bool] = lambda _: True

    def row(self, world: str, found: Found) -> Row | None:
        """Return the figure; None where this world has no such trials."""
        outcomes = [one for kind in self.kinds for one in found.get(kind, ()) if self.counts(one)]
        if not outcomes:
            return None
        if self.of is None:
            value, (low, high) = calibration_error(outcomes), _calibration_interval(outcomes)
        else:
            values = [float(self.of(one)) for one in outcomes]
            value = sum(values) / len(values)
            low, high = wilson(values) if self.is_share else bootstrap(values, np.mean)
        target = self.targets.get(world, "")
        return Row(world, self.name, value, low, high, len(outcomes), target)


def _right(outcome: Outcome) -> float:
    return outcome.right


def _suspected(outcome: Outcome) -> float:
    return outcome.suspected > 0


def _unexplained(outcome: Outcome) -> float:
    return outcome.unexplained > LEFT_UNEXPLAINED


FIGURES = (
    Figure(
        "full sheet, one fault: right first",
        ("full",),
        _right,
        {"plain": ">= 0.99", "rough": ">= 0.96", "workshop": ">= 0.985"},
    ),
    Figure(
        "mild resistive: right first",
        ("mild",),
        _right,
        {"plain": ">= 0.85", "workshop": ">= 0.80"},
    ),
    Figure("with a baseline: right first", ("baseline",), _right, {"plain": ">= 0.95"}),
    Figure("mild with a baseline: right first", ("mild_baseline",), _right, {}),
    Figure(
        "guided from three voltages: right at the end",
        ("guided",),
        _right,
        {"plain": ">= 0.985", "rough": ">= 0.95", "workshop": ">= 0.97"},
    ),
    Figure(
        "guided: readings beyond the three",
        ("guided",),
        lambda one: one.readings,
        {"plain": "<= 3.0", "rough": "<= 3.4", "workshop": "<= 3.3"},
        is_share=False,
    ),
    Figure(
        "guided: minutes beyond the three", ("guided",), lambda one: one.minutes, {}, is_share=False
    ),
    Figure(
        "two faults: both named",
        ("two",),
        _right,
        {"plain": ">= 0.94", "rough": ">= 0.88", "workshop": ">= 0.90"},
    ),
    Figure(
        "one spoilt reading: found",
        ("spoilt",),
        lambda one: one.found,
        {"plain": ">= 0.97", "workshop": ">= 0.95"},
    ),
    Figure(
        "one spoilt reading: diagnosis still right",
        ("spoilt",),
        _right,
        {"plain": ">= 0.985", "workshop": ">= 0.97"},
    ),
    Figure(
        "clean full sheets suspected",
        ("full",),
        _suspected,
        {"plain": "<= 0.01", "workshop": "<= 0.03"},
    ),
    Figure(
        "sparse: right first",
        ("sparse",),
        _right,
        {"plain": ">= 0.79", "workshop": ">= 0.78"},
    ),
    Figure(
        "sparse, where what is left shows the fault",
        ("sparse",),
        _right,
        {},
        counts=lambda one: one.shown is True,
    ),
    Figure(
        "calibration error (full, guided, sparse)",
        ("full", "guided", "sparse"),
        None,
        {"plain": "<= 0.03", "rough": "<= 0.04", "workshop": "<= 0.05"},
    ),
    Figure("further equipment, full sheet: right first", ("equipment",), _right, {}),
    Figure(
        "outside the catalogue: confidently wrong",
        ("outside",),
        lambda one: one.sure_of_itself,
        {"plain": "<= 0.03", "rough": "<= 0.05"},
    ),
    Figure("outside the catalogue: unexplained over 0.5", ("outside",), _unexplained, {}),
    Figure(
        "unexplained over 0.5 where the truth is listed",
        ("full",),
        _unexplained,
        {"plain": "<= 0.01", "rough": "<= 0.03"},
    ),
)
TIME = "one call, full sheet, median ms"
TIME_TARGETS = {"plain": "<= 40", "workshop": "<= 50"}


# Intervals


def wilson(values: Sequence[float], z: float = 1.96) -> Interval:
    """Return Wilson's interval of a share (E. B. Wilson, 1927); ``values`` are zeros and ones."""
    count = len(values)
    share = sum(values) / count
    middle = (share + z * z / (2 * count)) / (1 + z * z / count)
    half = z * math.sqrt(share * (1 - share) / count + (z / (2 * count)) ** 2) / (1 + z * z / count)
    return max(0.0, middle - half), min(1.0, middle + half)


def bootstrap(values: Sequence[float], of: Callable[..., Any], draws: int = 2000) -> Interval:
    """Return the interval of a mean or median by drawing the values again and again."""
    drawn = np.random.default_rng(1).choice(np.array(values), (draws, len(values)))
    low, high = np.percentile(of(drawn, axis=1), [2.5, 97.5])
    return float(low), float(high)


def _calibration_interval(outcomes: Sequence[Outcome], draws: int = 400) -> Interval:
    """As :func:`bootstrap`; the error itself is biased up by few cases, and so is this."""
    drawn = np.random.default_rng(1).integers(0, len(outcomes), (draws, len(outcomes))).tolist()
    errors = [calibration_error([outcomes[index] for index in one]) for one in drawn]
    low, high = np.percentile(errors, [2.5, 97.5])
    return float(low), float(high)


# The trials


def _of_field(name: str) -> World:
    return next(world for world in FIELD_WORLDS if world == name)


def run_one(world: str, kind: str, seed: int, trial: int) -> Outcome:
    """Run one trial of a world."""
    try:
        if world == "workshop":
            return workshop.run_one(kind, seed, trial)
        return field.run_one(_of_field(world), kind, seed, trial)
    except Exception as error:
        error.add_note(f"in trial {trial} of {kind}, {world} world, seed {seed}")
        raise


def outcomes(world: str, seed: int, count: int, pool: ProcessPoolExecutor) -> Found:
    """Return the outcomes of every kind of trial that a world has."""
    kinds = tuple(workshop.TRIALS) if world == "workshop" else field.KINDS
    asked = [(kind, trial) for kind in kinds for trial in range(count)]
    found = pool.map(
        run_one,
        [world] * len(asked),
        [kind for kind, _ in asked],
        [seed] * len(asked),
        [trial for _, trial in asked],
        chunksize=5,
    )
    by_kind: dict[str, list[Outcome]] = {kind: [] for kind in kinds}
    for (kind, _), outcome in zip(asked, found, strict=True):
        by_kind[kind].append(outcome)
    return by_kind


def figures(world: str, found: Found, seed: int) -> Iterator[Row]:
    """Return a world's figures; the time is taken with nothing else running."""
    for figure in FIGURES:
        row = figure.row(world, found)
        if row is not None:
            yield row
    timed = (
        workshop.timed_calls(seed, TIMED_CALLS)
        if world == "workshop"
        else field.timed_calls(_of_field(world), seed, TIMED_CALLS)
    )
    milliseconds = [1000 * one for one in timed]
    low, high = bootstrap(milliseconds, np.median)
    middle = float(np.median(milliseconds))
    yield Row(world, TIME, middle, low, high, len(timed), TIME_TARGETS.get(world, ""))


# What is printed and kept


def print_table(rows: Sequence[Row], kept: Mapping[tuple[str, str], float] | None) -> None:
    """Print the figures, and the kept ones beside them."""
    world = ""
    for row in rows:
        if row.world != world:
            world = row.world
            beside = "" if kept is None else "     kept"
            print(f"\n{world:48s}    value   95 % from - to   n  should be{beside}")
        line = f"{row.figure:48s} {row.text} {row.trials:5d}  {row.target:9s}"
        before = None if kept is None else kept.get((row.world, row.figure))
        if before is not None:
            line += f" {before:8.3f}" + ("" if row.low <= before <= row.high else " !")
        print(line.rstrip())


def read_kept() -> dict[tuple[str, str], float]:
    """Return the kept figures by world and name."""
    if not KEPT.exists():
        return {}
    with KEPT.open(encoding="utf-8", newline="") as file:
        return {(row["world"], row["figure"]): float(row["value"]) for row in csv.DictReader(file)}


def keep(rows: Sequence[Row], seed: int) -> None:
    """Write these figures in place of their worlds' kept ones; other worlds' stay."""
    worlds = {row.world for row in rows}
    lines: list[list[object]] = []
    if KEPT.exists():
        with KEPT.open(encoding="utf-8", newline="") as file:
            others = [row for row in csv.DictReader(file) if row["world"] not in worlds]
            lines = [[row[name] for name in COLUMNS] for row in others]
    today = date.today().isoformat()
    for row in rows:
        numbers = [f"{value:.4g}" for value in (row.value, row.low, row.high)]
        lines.append([row.world, row.figure, *numbers, row.trials, seed, today])
    with KEPT.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(COLUMNS)
        writer.writerows(lines)


def print_confusions(world: str, found: Found) -> None:
    """Print how often which truth was answered by what, the most frequent first."""
    print(f"\n{world}: truth -> answer, times (kinds)")
    times: Counter[tuple[str, str]] = Counter()
    kinds: dict[tuple[str, str], Counter[str]] = {}
    for kind, several in found.items():
        for one in several:
            if one.right or (kind == "outside" and not one.sure_of_itself):
                continue
            pair = ("+".join(one.names), "+".join(sorted(one.answer)) or "nothing")
            times[pair] += 1
            kinds.setdefault(pair, Counter())[kind] += 1
    for (truth, answer), count in times.most_common():
        where = ", ".join(f"{kind} {of}" for kind, of in kinds[truth, answer].most_common())
        print(f"{count:4d}  {truth} -> {answer}  ({where})")


def dump(world: str, found: Found, folder: Path) -> None:
    """Write every failed trial as JSON: the case, the truth, what was said, what was true."""
    folder.mkdir(parents=True, exist_ok=True)
    for kind, several in found.items():
        for number, one in enumerate(several):
            if one.failure is not None:
                text = json.dumps({"kind": kind, **one.failure}, indent=1)
                (folder / f"{world}_{kind}_{number}.json").write_text(text, encoding="utf-8")


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("trials", type=int, nargs="?", default=300)
    parser.add_argument("seed", type=int, nargs="?", default=1)
    parser.add_argument("worlds", nargs="*", metavar="world", help=", ".join(WORLDS))
    parser.add_argument("--keep", action="store_true")
    parser.add_argument("--confusions", action="store_true")
    parser.add_argument("--dump", type=Path, metavar="FOLDER")
    parser.add_argument("--processes", type=int, default=2)
    asked = parser.parse_args()
    if unknown := set(asked.worlds) - set(WORLDS):
        parser.error(f"no such world: {', '.join(sorted(unknown))}; there are {', '.join(WORLDS)}")
    rows: list[Row] = []
    met: dict[str, Found] = {}
    for world in asked.worlds or WORLDS:
        with ProcessPoolExecutor(asked.processes) as pool:
            met[world] = outcomes(world, asked.seed, asked.trials, pool)
        rows += figures(world, met[world], asked.seed)
    print(f"{asked.trials} trials a row, seed {asked.seed}")
    print_table(rows, None if asked.keep else read_kept())
    for world, found in met.items():
        if asked.confusions:
            print_confusions(world, found)
        if asked.dump:
            dump(world, found, asked.dump)
    if asked.keep:
        keep(rows, asked.seed)


if __name__ == "__main__":
    main()
