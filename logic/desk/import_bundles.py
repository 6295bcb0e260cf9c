"""``import``: whole vehicles from phones and other desks, photos included."""

import sys
from collections.abc import Iterator
from pathlib import Path

import click

from logic.desk.store_access import opened
from logic.desk.terminal import progress_bar, say
from logic.records.bundle.importing import Imported, import_bundle, look_at_bundle
from logic.records.keys import shown
from logic.records.state import Clash
from logic.records.store.exchange import Agreed
from logic.records.store.store import Store
from logic.words.names import counted

_MOST_NAMED = 20
_OPTIONS = {
    "withdrawals": "--withdrawals",
    "keys": "--keys",
    "erasure": "--erasures",
    "date": "--ahead",
    "key": "--unsigned",
}


@click.command(
    "import",
    help="""Take in bundles from phones and other desks.

    In any order and as often as you like: what is there already is left alone. What a file would
    do is said first. An entry is taken in when a key of the workshop signed it ('voltwalk-office
    keys'); what nobody answers for is kept aside or refused, and the rest goes on. Where two phones
    answered the same step, both answers are kept and named.

    Some things are taken in only when they are asked for: the erasure of a customer, entries dated
    ahead, keys that another device vouches for or withdraws, and a file without a signature, as
    release 0.1.0 made them.

    \b
    Examples:
      voltwalk-office import --look van.voltwalk
      voltwalk-office import van.voltwalk
      voltwalk-office import --erasures phone-1.voltwalk phone-2.voltwalk
    """,
)
@click.argument(
    "files",
    metavar="FILE...",
    nargs=-1,
    required=True,
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
)
@click.option("--look", is_flag=True, help="Only say what the files would do.")
@click.option("--yes", is_flag=True, help="Do not ask before taking in.")
@click.option("--erasures", is_flag=True, help="Take in erasures of customers too.")
@click.option("--ahead", is_flag=True, help="Take in entries dated ahead, with their date.")
@click.option("--keys", is_flag=True, help="Take in keys that a trusted device vouches for.")
@click.option("--withdrawals", is_flag=True, help="Stop believing keys as a trusted device says.")
@click.option("--unsigned", is_flag=True, help="Take in files without a signature (before 0.2).")
@click.pass_obj
def import_bundles(
    folder: Path,
    files: tuple[Path, ...],
    look: bool,
    yes: bool,
    erasures: bool,
    ahead: bool,
    keys: bool,
    withdrawals: bool,
    unsigned: bool,
) -> None:
    agreed = Agreed(unsigned, erasures, ahead, keys, withdrawals)
    with opened(folder, create=True) as store:
        for file in files:
            with progress_bar(f"Looking at {file.name}") as progress:
                would = look_at_bundle(store, file, agreed, progress)
            say(f"{file}:")
            for line in _would_do(store, would):
                say(f"  {line}")
            if look or not (yes or _goes_on()):
                continue
            with progress_bar(f"Taking in {file.name}") as progress:
                imported = import_bundle(store, file, progress, agreed, would.manifest)
            store.follow_erasures()
            say(f"  Done. {imported.summary}")
            for clash in imported.clashes[:_MOST_NAMED]:
                say(f"  answered on two devices: {_named(store, clash)}")


def _goes_on() -> bool:
    """Ask where somebody can answer; a script has given its answers as options."""
    return not sys.stdin.isatty() or click.confirm("  Take it in?", default=True)


def _would_do(store: Store, would: Imported) -> Iterator[str]:
    sender = would.sender
    known = f"signed by {sender.words}"
    if sender.public and not sender.is_ours:
        known += f", {shown(sender.public)}; whole key {sender.public}"
    yield f"From: {known if sender.public else sender.words}"
    if would.brought_nothing:
        yield "Brings nothing that is new here."
    else:
        yield (
            f"Brings {counted(len(would.new_vehicles), 'new vehicle')}, "
            f"{counted(would.events, 'new entry', 'new entries')}, "
            f"{counted(would.sealed, 'new signed record')}, {counted(would.photos, 'new photo')}."
        )
    for signer, count in would.signers:
        yield f"{counted(count, 'entry', 'entries')} signed by {signer.words}"
    for vehicle_id in would.erased:
        yield f"ERASES the customer of {_plate(store, vehicle_id)}"
    for job_id in would.reopened:
        yield f"Opens the signed job {job_id} again"
    yield from would.remarks
    for offer in would.open_offers:
        what = "vouches for" if offer.standing == "trusted" else "no longer believes"
        yield f"{offer.by} {what} the key of {offer.name or 'no name'}, {offer.shown}"
    for why in would.needs_asking:
        yield f"To take that in too, give {_OPTIONS[why]}."


def _plate(store: Store, vehicle_id: str) -> str:
    if vehicle_id not in store.all_vehicle_ids():
        return f"a vehicle that is new here ({vehicle_id})"
    vehicle = store.vehicle(vehicle_id).vehicle
    return vehicle.registration if vehicle else vehicle_id


def _named(store: Store, clash: Clash) -> str:
    return f"{_plate(store, clash.vehicle_id)}, step {clash.step_id}, job {clash.job_id}"
