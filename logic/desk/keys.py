"""``keys``: which devices' signatures the desk takes for the workshop's own."""

from pathlib import Path

import click

from logic.desk.store_access import opened
from logic.desk.terminal import say
from logic.errors import InputError
from logic.records.keys import shown
from logic.records.store.store import Store
from logic.words.dates import day_and_time


@click.command(
    help="""List the workshop's keys, take one in, or withdraw one.

    Each phone and each desk signs what it writes down with a key of its own. What is signed by a
    key of this list is the workshop's. What other devices of the list say of keys comes with the
    files that they send, and is asked about. Compare the eight groups of four digits with what the
    other device shows under 'Keys of the workshop' before you take its key in.

    A key that is withdrawn (a phone was lost or sold) counts no more; look also at the keys that it
    vouched for. What its device had written before stays.

    \b
    Examples:
      voltwalk-office keys
      voltwalk-office keys --trust 3b6a...29 --name "Van phone"
      voltwalk-office keys --withdraw 6d1f6ce2f3a8b1c4
    """
)
@click.option("--trust", metavar="KEY", help="Take a key in: its 64 digits.")
@click.option("--name", default="", help="What to call the device, with --trust.")
@click.option("--withdraw", metavar="KEY", help="Withdraw a key: its short or its 64 digits.")
@click.pass_obj
def keys(folder: Path, trust: str | None, name: str, withdraw: str | None) -> None:
    with opened(folder, create=True) as store:
        if trust:
            store.say_of_key(_digits(trust), name, "trusted")
        if withdraw:
            store.say_of_key(_known(store, _digits(withdraw)), "", "withdrawn")
        own = store.own_key
        for key in sorted(store.workshop_keys().values(), key=lambda key: (key.at, key.public)):
            mine = ", this desk" if key.public == own else ", this desk before" * key.is_own
            said = "" if key.is_own else f", {key.standing} since {day_and_time(key.at)}"
            say(f"{key.key_id}  {key.name or '(no name)'}{mine}{said}")
            say(f"    compare   {shown(key.public)}")
            say(f"    whole key {key.public}")


def _digits(text: str) -> str:
    return "".join(text.split()).lower().removeprefix("voltwalk-key:")


def _known(store: Store, digits: str) -> str:
    fitting = [
        key.public for key in store.workshop_keys().values() if digits in (key.key_id, key.public)
    ]
    if len(fitting) != 1:
        raise InputError(
            f"No key of the workshop is called '{digits}'. Look at the list: 'voltwalk-office "
            "keys'.",
            "withdraw",
        )
    return fitting[0]
