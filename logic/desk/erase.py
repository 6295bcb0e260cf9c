"""``erase``: a customer's wish to have their data deleted."""

from pathlib import Path

import click

from logic.desk.store_access import opened, vehicle_of


@click.command(
    help="""Erase a vehicle's customer: name, contact and finger signatures, here and in
    backups.

    The technical record stays and still verifies. This cannot be undone, so VEHICLE must be the
    whole plate or the id.

    \b
    Examples:
      voltwalk-office erase "LIB 042"
      voltwalk-office erase "LIB 042" --yes
    """
)
@click.argument("vehicle")
@click.option("--yes", is_flag=True, help="Do not ask.")
@click.pass_obj
def erase(folder: Path, vehicle: str, yes: bool) -> None:
    with opened(folder) as store:
        row = vehicle_of(store, vehicle, whole=True)
        if not yes:
            named = f"{row.registration} ({row.customer or 'customer not named'})"
            click.confirm(f"Erase the customer of {named}, for good?", abort=True, err=True)
        erased = store.erase_customer(row.vehicle_id)
    click.echo(erased.summary)
