"""``stats``: what the signed records say together."""

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import timedelta
from itertools import chain
from pathlib import Path
from statistics import median
from typing import Any

import click

from logic.case import Judgement, Verdict
from logic.desk.store_access import opened
from logic.desk.terminal import aligned, as_json, progress_through, say
from logic.diagnosis import catalogue
from logic.records.record import Record, SealedRecord
from logic.vehicle.assumed import QUOTIENT_CURRENT_A
from logic.vehicle.points import Point, ReadingKey, Run
from logic.words import figures
from logic.words.names import RESPONSIBILITIES, in_words, uncapitalised


@dataclass(frozen=True)
class Job:
    """What counts of one job's latest revision; small, so that many fit in memory."""

    kind: str
    revision: int
    minutes: float
    faults: tuple[str, ...]
    responsibility: str
    installer: str
    readings: int
    out_of_range: tuple[str, ...]
    milliohms: tuple[tuple[str, float], ...]


def _job(record: Record, before: Job | None) -> Job:
    found = record.conclusion
    verdicts = [step.verdict for step in record.steps if step.verdict]
    out = (v.point.value for v in verdicts if v.verdict is Judgement.OUT_OF_RANGE)
    taken = (record.signed_at - record.opened_at) / timedelta(minutes=1)
    return Job(
        kind=record.job_kind,
        revision=record.revision,
        # A job lasts until it is first signed; a later revision may come years after.
        minutes=min(taken, before.minutes) if before else taken,
        faults=found.faults if found else (),
        responsibility=found.responsibility if found else "",
        installer=record.technician.workshop or record.technician.name or "not named",
        readings=len(verdicts),
        out_of_range=tuple(out),
        milliohms=tuple(_milliohms(verdicts)),
    )


def _milliohms(verdicts: Sequence[Verdict]) -> Iterator[tuple[str, float]]:
    """Return each run's resistance (Ohm's law), drop and current read in the same state."""
    read = {verdict.key: verdict.value for verdict in verdicts}
    for (point, state), drop in read.items():
        if point.run is None or point.current is None:
            continue
        through = read.get(ReadingKey(point.current, state), 0.0)
        if through >= QUOTIENT_CURRENT_A:
            yield point.run.value, 1000 * drop / through


def latest_jobs(records: Iterable[SealedRecord]) -> list[Job]:
    """Return each job as its latest revision has it."""
    found: dict[str, Job] = {}
    for sealed in records:
        record = sealed.record
        before = found.get(record.job_id)
        if before is None or before.revision < record.revision:
            found[record.job_id] = _job(record, before)
    return list(found.values())


def tally(jobs: Iterable[Job]) -> dict[str, Any]:
    """Count jobs: kinds, faults, whose matter, each installer's readings, minutes."""
    listed = list(jobs)
    minutes: defaultdict[str, list[float]] = defaultdict(list)
    for job in listed:
        minutes[job.kind].append(job.minutes)
    return {
        "jobs": dict(Counter(job.kind for job in listed)),
        "faults": dict(Counter(fault for job in listed for fault in job.faults).most_common()),
        "responsibilities": dict(
            Counter(job.responsibility for job in listed if job.responsibility).most_common()
        ),
        "installers": _installers(job for job in listed if job.kind == "commissioning"),
        "minutes": {
            kind: {"median": round(median(taken), 1), "longest": round(max(taken), 1)}
            for kind, taken in minutes.items()
        },
    }


def _installers(jobs: Iterable[Job]) -> dict[str, Any]:
    by_name: defaultdict[str, list[Job]] = defaultdict(list)
    for job in jobs:
        by_name[job.installer].append(job)
    return {
        name: {
            "commissionings": len(done),
            "readings": sum(job.readings for job in done),
            "out_of_range": sum(len(job.out_of_range) for job in done),
            "median_milliohms": _medians(job.milliohms for job in done),
            "most_often": dict(Counter(p for job in done for p in job.out_of_range).most_common(3)),
        }
        for name, done in sorted(by_name.items())
    }


def _medians(found: Iterable[tuple[tuple[str, float], ...]]) -> dict[str, float]:
    runs: defaultdict[str, list[float]] = defaultdict(list)
    for run, milliohm in chain.from_iterable(found):
        runs[run].append(milliohm)
    return {run: round(median(values), 1) for run, values in sorted(runs.items())}


@click.command(
    help="""Sum up the signed records: faults, installers' readings, how long jobs take.

    Only the latest revision of each job counts.

    \b
    Examples:
      voltwalk-office stats
      voltwalk-office stats --json > stats.json
    """
)
@click.option("--json", "json_wanted", is_flag=True, help="Write JSON.")
@click.pass_obj
def stats(folder: Path, json_wanted: bool) -> None:
    with (
        opened(folder) as store,
        progress_through(store.sealed_records(), "Reading records") as bar,
    ):
        found = tally(latest_jobs(bar))
    if json_wanted:
        click.echo(as_json(found))
    else:
        say(*_lines(found))


def _lines(found: dict[str, Any]) -> Iterator[str]:
    installers = found["installers"].items()
    responsible = found["responsibilities"].items()
    parts: tuple[tuple[str, list[tuple[str, ...]]], ...] = (
        ("Jobs signed", _counts(found["jobs"], in_words)),
        (
            "Faults found on callbacks",
            _counts(found["faults"], catalogue.title),
        ),
        ("Whose matter it was", [(RESPONSIBILITIES[who], str(n)) for who, n in responsible]),
        (
            "Readings at commissioning, by workshop",
            [_judged(name, one) for name, one in installers],
        ),
        (
            "Median resistance of the runs, by workshop",
            [_runs(name, one) for name, one in installers],
        ),
        ("From first entry to signature", [_took(*item) for item in found["minutes"].items()]),
    )
    for title, rows in parts:
        yield title
        yield from aligned(rows, 2) if rows else ["  none"]


def _counts(counted: dict[str, int], name: Callable[[str], str]) -> list[tuple[str, ...]]:
    return [(name(one), str(count)) for one, count in counted.items()]


def _judged(name: str, one: dict[str, Any]) -> tuple[str, ...]:
    points = one["most_often"].items()
    most = ", ".join(f"{uncapitalised(Point(point).full_name)} {count}" for point, count in points)
    jobs = f"{one['commissionings']} commissioned"
    return name, jobs, f"{one['out_of_range']} of {one['readings']} out of range", most


def _runs(name: str, one: dict[str, Any]) -> tuple[str, ...]:
    runs = one["median_milliohms"].items()
    told = (f"{Run(run).full_name} {figures.milliohms(value / 1000)}" for run, value in runs)
    return name, ", ".join(told) or "not measured"


def _took(kind: str, minutes: dict[str, float]) -> tuple[str, ...]:
    median_words, longest = (figures.minutes(minutes[name]) for name in ("median", "longest"))
    return in_words(kind), f"median {median_words}", f"longest {longest}"
