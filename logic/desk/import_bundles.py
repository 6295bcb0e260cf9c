"""``import``: whole vehicles from phones and other desks, photos included."""

from pathlib import Path

import click

from logic.desk.store_access import opened
from logic.desk.terminal import progress_bar, say
from logic.records.bundle.importing import import_bundle
from logic.records.state import Clash
from logic.records.store.store import Store

_MOST_NAMED = 20


@click.command(
    "import",
    help="""Take in bundles from phones and other desks.

    In any order and as often as you like: what is there already is left alone. A file that is
    damaged or not ours is refused as a whole. Where two phones answered the same step, both
    answers are kept and named.

    \b
    Examples:
      voltwalk-office import van.voltwalk
      voltwalk-office import phone-1.voltwalk phone-2.voltwalk
    """,
)
@click.argument(
    "files",
    metavar="FILE...",
    nargs=-1,
    required=True,
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
)
@click.pass_obj
def import_bundles(folder: Path, files: tuple[Path, ...]) -> None:
    with opened(folder, create=True) as store:
        for file in files:
            with progress_bar(f"Taking in {file.name}") as progress:
                imported = import_bundle(store, file, progress)
            store.follow_erasures()
            say(f"{file}: {imported.summary}")
            for clash in imported.clashes[:_MOST_NAMED]:
                say(f"  answered on two devices: {_named(store, clash)}")


def _named(store: Store, clash: Clash) -> str:
    vehicle = store.vehicle(clash.vehicle_id).vehicle
    plate = vehicle.registration if vehicle else clash.vehicle_id
    return f"{plate}, step {clash.step_id}, job {clash.job_id}"
