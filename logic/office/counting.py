"""``stats``: what the signed records say together."""

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from statistics import median
from typing import Any

import click

from logic.case import Judgement
from logic.office import manual
from logic.office.desk import opened, progress
from logic.office.files import as_json
from logic.office.looking import aligned
from logic.records.record import Record, SealedRecord
from logic.records.report_words import RESPONSIBILITIES, words


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
        faults=tuple(fault.value for fault in found.faults) if found else (),
        responsibility=found.responsibility if found else "",
        installer=record.technician.workshop or record.technician.name or "not named",
        readings=len(verdicts),
        out_of_range=tuple(out),
    )


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
            "most_often": dict(Counter(p for job in done for p in job.out_of_range).most_common(3)),
        }
        for name, done in sorted(by_name.items())
    }


@click.command(help=manual.STATS)
@click.option("--json", "json_wanted", is_flag=True, help="Write JSON.")
@click.pass_obj
def stats(folder: Path, json_wanted: bool) -> None:
    """Sum up the signed records."""
    with opened(folder) as store, progress(store.sealed_records(), "Reading records") as bar:
        found = tally(latest_jobs(bar))
    click.echo(as_json(found) if json_wanted else "\n".join(_said(found)))


def _said(found: dict[str, Any]) -> list[str]:
    lines = ["Jobs signed"]
    lines += _rows((words(kind), str(count)) for kind, count in found["jobs"].items())
    lines += ["Faults found on callbacks"]
    lines += _rows((words(fault), str(count)) for fault, count in found["faults"].items())
    lines += ["Whose matter it was"]
    shares = found["responsibilities"].items()
    lines += _rows((RESPONSIBILITIES[who], str(count)) for who, count in shares)
    lines += ["Readings at commissioning, by workshop"]
    lines += _rows(_installer(name, one) for name, one in found["installers"].items())
    lines += ["Minutes from first entry to signature"]
    lines += _rows(
        (words(kind), f"median {taken['median']:g}", f"longest {taken['longest']:g}")
        for kind, taken in found["minutes"].items()
    )
    return lines


def _installer(name: str, one: dict[str, Any]) -> tuple[str, ...]:
    points = one["most_often"].items()
    most = ", ".join(f"{words(point).lower()} {count}" for point, count in points)
    jobs = f"{one['commissionings']} commissioned"
    return name, jobs, f"{one['out_of_range']} of {one['readings']} out of range", most


def _rows(rows: Iterable[tuple[str, ...]]) -> list[str]:
    lines = list(rows)
    return [f"  {line}" for line in aligned(lines)] if lines else ["  none"]
