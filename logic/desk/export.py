"""``export``: signed records as files that others can open."""

import re
import sys
from collections.abc import Iterator
from datetime import UTC, datetime
from itertools import chain
from pathlib import Path

import click

from logic.desk.store_access import note_written, opened, vehicle_of
from logic.desk.terminal import escaped, progress_bar, progress_through, say
from logic.errors import InputError, RecordError
from logic.records.files import replace_file
from logic.records.record import Record, SealedRecord
from logic.records.store.store import Store

FORMATS = ("pdf", "json", "csv", "label", "bundle")


@click.command(
    help="""Write signed records to files others can open.

    FORMAT pdf is the printed record with the record itself attached, json the sealed record,
    csv every reading and check as one table, label the sticker for the unit, bundle one file with
    everything (photos too) for another phone or desk. Without VEHICLE, everything is exported.
    Where there is one file and no --to, json and csv go to the standard output.

    \b
    Examples:
      voltwalk-office export "LIB 042"
      voltwalk-office export "LIB 042" --format json > record.json
      voltwalk-office export --format csv --to readings.csv
      voltwalk-office export "LIB 042" --format label --to sticker.pdf
      voltwalk-office export "LIB 042" --format bundle --without-customer --to van.voltwalk
    """
)
@click.argument("vehicle", required=False)
@click.option("--format", "form", default="pdf", show_default=True, type=click.Choice(FORMATS))
@click.option("--to", "target", type=click.Path(path_type=Path), help="A file or a folder.")
@click.option("--every-revision", is_flag=True, help="Not only each job's latest.")
@click.option("--without-customer", is_flag=True, help="Leave name, contact and signatures out.")
@click.pass_obj
def export(
    folder: Path,
    vehicle: str | None,
    form: str,
    target: Path | None,
    every_revision: bool,
    without_customer: bool,
) -> None:
    with opened(folder) as store:
        vehicle_id = vehicle_of(store, vehicle).vehicle_id if vehicle else ""
        if form == "bundle":
            _bundle(store, vehicle_id, target, without_customer)
            return
        records = _chosen(store, vehicle_id, every_revision)
        if without_customer:
            records = (sealed.model_copy(update={"private": None}) for sealed in records)
        if target not in (None, Path("-")) or form not in ("csv", "json"):
            note_written(store, "export", target or Path(), vehicle_id)
        if form == "csv":
            _csv(records, target)
        else:
            _one_by_one(store, records, form, target)


def _bundle(store: Store, vehicle_id: str, target: Path | None, without_customer: bool) -> None:
    """Write one vehicle, or all of them, as a bundle."""
    from logic.records.bundle.exporting import export_bundle

    path = target or Path(f"voltwalk-{datetime.now(UTC):%Y%m%d-%H%M%S}.voltwalk")
    if path.is_dir() or path == Path("-"):
        raise InputError("Name a file with --to, such as --to van.voltwalk.", "to")
    note_written(store, "export", path, vehicle_id)
    with progress_bar("Writing the bundle") as progress:
        wanted = [vehicle_id] if vehicle_id else None
        done = export_bundle(store, path, wanted, not without_customer, progress)
    say(f"{path}: {done.vehicles} vehicles, {done.sealed} signed records, {done.photos} photos.")
    if done.missing_photos:
        say(f"{len(done.missing_photos)} photos are not on this device.", err=True)


def _chosen(store: Store, vehicle_id: str, every_revision: bool) -> Iterator[SealedRecord]:
    for sealed in _signed(store, vehicle_id):
        if every_revision or sealed.sha256 == store.sealed(sealed.record.job_id)[-1].sha256:
            yield sealed


def _signed(store: Store, vehicle_id: str) -> Iterator[SealedRecord]:
    if not vehicle_id:
        yield from store.sealed_records()
        return
    for job in store.vehicle(vehicle_id).jobs:
        yield from store.sealed(job.job_id)


def _csv(records: Iterator[SealedRecord], target: Path | None) -> None:
    from logic.desk.csv_table import write_table

    if target is None or target == Path("-"):
        write_table(records, sys.stdout)
        return
    if target.is_dir():
        raise InputError("Name a file with --to, such as --to readings.csv.", "to")
    # RFC 4180 ends lines itself; a byte order mark lets spreadsheets see that it is UTF-8.
    with (
        target.open("w", encoding="utf-8-sig", newline="") as file,
        progress_through(records, "Writing rows") as bar,
    ):
        count = write_table(bar, file)
    say(f"{target}: {count} rows.")


def _one_by_one(
    store: Store, records: Iterator[SealedRecord], form: str, target: Path | None
) -> None:
    """Write a file for each record; a single one may be named, several go into a folder."""
    first = next(records, None)
    if first is None:
        raise RecordError("Nothing is signed there yet, so there is nothing to export.")
    second = next(records, None)
    if second is None and form == "json" and target in (None, Path("-")):
        click.echo(escaped(first.model_dump_json(indent=1)))
        return
    if second is None and target is not None and not target.is_dir():
        _write(store, first, form, target)
        say(target)
        return
    folder = target or Path()
    folder.mkdir(parents=True, exist_ok=True)
    chosen = chain((first,) if second is None else (first, second), records)
    written = []
    with progress_through(chosen, "Writing files") as bar:
        for sealed in bar:
            path = folder / _file_name(sealed.record, sealed.sha256, form)
            _write(store, sealed, form, path)
            written.append(path)
    say(*written)


def _file_name(record: Record, sha256: str, form: str) -> str:
    plate = re.sub(r"[^A-Za-z0-9]+", "-", record.vehicle.registration).strip("-") or "vehicle"
    ending = {"label": "label.pdf"}.get(form, form)
    day = f"{record.signed_at:%Y-%m-%d}"
    return f"{plate}_{day}_{record.job_kind}_{record.revision}_{sha256[:8]}.{ending}"


def _write(store: Store, sealed: SealedRecord, form: str, path: Path) -> None:
    if form == "json":
        replace_file(path, sealed.model_dump_json(indent=1).encode(), "The record")
    elif form == "pdf":
        from logic.records.paper.report import write_pdf

        write_pdf(sealed, store.photo_path, path)
    else:
        from logic.records.label.sticker import write_label_pdf, write_label_png

        (write_label_png if path.suffix.lower() == ".png" else write_label_pdf)(sealed, path)
