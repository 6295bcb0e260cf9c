"""``import``, and ``export --format bundle``: whole vehicles, photos included."""

from datetime import UTC, datetime
from pathlib import Path

import click

from logic.desk import manual
from logic.desk.common import counted, opened
from logic.errors import InputError
from logic.records.bundle import exporting
from logic.records.bundle.importing import Clash, import_bundle
from logic.records.store.store import Store

_MOST_NAMED = 20


@click.command("import", help=manual.IMPORT)
@click.argument(
    "files",
    metavar="FILE...",
    nargs=-1,
    required=True,
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
)
@click.pass_obj
def import_bundles(folder: Path, files: tuple[Path, ...]) -> None:
    """Take in each bundle; the first that is refused ends it, those before it stay."""
    with opened(folder, create=True) as store:
        for file in files:
            with counted(f"Taking in {file.name}") as tell:
                taken = import_bundle(store, file, tell)
            click.echo(f"{file}: {taken.summary}")
            for clash in taken.clashes[:_MOST_NAMED]:
                click.echo(f"  answered on two devices: {_named(store, clash)}")


def _named(store: Store, clash: Clash) -> str:
    vehicle = store.vehicle(clash.vehicle_id).vehicle
    plate = vehicle.registration if vehicle else clash.vehicle_id
    return f"{plate}, step {clash.step_id}, job {clash.job_id}"


def export_bundle(
    store: Store, vehicle_id: str, target: Path | None, without_customer: bool
) -> None:
    """Write one vehicle, or all of them, as a bundle."""
    path = target or Path(f"voltwalk-{datetime.now(UTC):%Y%m%d-%H%M%S}.voltwalk")
    if path.is_dir() or path == Path("-"):
        raise InputError("Name a file with --to, such as --to van.voltwalk.", "to")
    with counted("Writing the bundle") as tell:
        wanted = [vehicle_id] if vehicle_id else None
        done = exporting.export_bundle(store, path, wanted, not without_customer, tell)
    click.echo(
        f"{path}: {done.vehicles} vehicles, {done.sealed} signed records, {done.photos} photos."
    )
    if done.missing_photos:
        click.echo(f"{len(done.missing_photos)} photos are not on this device.", err=True)
