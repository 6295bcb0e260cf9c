"""``erase``: a customer's wish to have their data deleted."""

from collections.abc import Iterator
from pathlib import Path

import click

from logic.desk.store_access import opened, vehicle_of
from logic.desk.terminal import plain, say
from logic.records.store.erasure import Erased
from logic.records.store.traces import Trace


@click.command(
    help="""Erase a vehicle's customer: name, contact, signatures, and every text that names them,
    here and in backups.

    The technical record stays and still verifies. This cannot be undone, so VEHICLE must be the
    whole plate or the id. Texts in which only a part of the name stands are shown and asked about;
    so are files that this desk wrote elsewhere. What was erased and what still holds the name is
    listed at the end, without the name: the list can be handed to the person who asked.

    \b
    Examples:
      voltwalk-office erase "LIB 042"
      voltwalk-office erase "LIB 042" --yes
      voltwalk-office erase "LIB 042" --yes --possible --files > erased.txt
    """
)
@click.argument("vehicle")
@click.option("--yes", is_flag=True, help="Ask nothing; leave what is not sure.")
@click.option("--possible", is_flag=True, help="Erase texts with a part of the name as well.")
@click.option("--files", is_flag=True, help="Delete files that this desk wrote elsewhere as well.")
@click.pass_obj
def erase(folder: Path, vehicle: str, yes: bool, possible: bool, files: bool) -> None:
    with opened(folder) as store:
        row = vehicle_of(store, vehicle, whole=True)
        if not yes:
            named = f"{row.registration} ({row.customer or 'customer not named'})"
            click.confirm(plain(f"Erase the customer of {named}, for good?"), abort=True, err=True)
        offered = store.customer_traces(row.vehicle_id).possible
        chosen = offered if possible else () if yes else tuple(_chosen(offered))
        erased = store.erase_customer(row.vehicle_id, [trace.event_id for trace in chosen])
    if erased.elsewhere and (files or (not yes and _agreed_to_delete(erased))):
        erased = erased.with_deleted()
    say(erased.summary)
    for heading, lines in erased.lines:
        say("", f"{heading}:", *(f"  - {line}" for line in lines))


def _chosen(offered: tuple[Trace, ...]) -> Iterator[Trace]:
    for trace in offered:
        say(f"{trace.where} may name the customer: {trace.text}", err=True)
        if click.confirm("Erase these words as well?", err=True):
            yield trace


def _agreed_to_delete(erased: Erased) -> bool:
    say("This desk wrote these files, and they hold the name:", err=True)
    say(*(f"  {path}" for path in erased.elsewhere), err=True)
    return click.confirm("Delete them as well?", err=True)
