"""``stamp``: have an authority outside the workshop witness how far the records had come."""

from pathlib import Path

import click

from logic.desk import timestamps
from logic.desk.store_access import opened
from logic.desk.terminal import say
from logic.errors import InputError
from logic.records.keys import key_id
from logic.words.names import counted


@click.command(
    help="""Have a time-stamp authority witness how far the records had come, or check its stamps.

    Every device's events are one chain. With --authority, the last event of each chain that is
    here is stamped by an authority of your choice (RFC 3161). It learns a hash and nothing else.
    From then on nobody, not even the workshop, can put a record into the past before that moment
    unseen. 'verify' says of a record which stamp covers it, without the network.

    The stamps are files in the store's folder 'stamps'; keep copies elsewhere. Each can be
    checked without this program: openssl ts -verify -data NAME.txt -in NAME.tsr -CAfile FILE

    --ca takes the authority's certificate in, so that its stamps are proved and not only kept.
    Have it from the authority itself.

    Exit status 1 if there is no stamp, or one does not verify.

    \b
    Examples:
      voltwalk-office stamp --authority https://stamps.example --ca authority.pem
      voltwalk-office stamp --check
    """
)
@click.option("--authority", metavar="URL", help="The address of a time-stamp authority.")
@click.option("--check", "is_check", is_flag=True, help="List the stamps, and whether they verify.")
@click.option(
    "--ca",
    "certificate",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="The authority's certificate, PEM or DER.",
)
@click.option(
    "--patience",
    type=click.FloatRange(0.1, 600),
    default=30.0,
    show_default=True,
    help="How many seconds to wait for the authority.",
)
@click.pass_context
def stamp(
    context: click.Context,
    authority: str | None,
    is_check: bool,
    certificate: Path | None,
    patience: float,
) -> None:
    folder: Path = context.obj
    more = timestamps.certificates(certificate) if certificate else ()
    if not authority and not is_check:
        raise InputError("Say which authority to ask, with --authority URL, or --check.", "stamp")
    if authority:
        with opened(folder) as store:
            heads = store.chain_heads()
        if not heads:
            raise InputError(
                "Nothing here was signed with a device's key yet, so there is nothing to stamp.",
                "stamp",
            )
        made = timestamps.obtain(heads, authority, folder, more, patience)
        timestamps.take_in(more, folder)
        say(f"{_line(made)}: {counted(len(heads), 'chain')} of events.")
    if is_check:
        stamps = timestamps.kept(folder, more)
        for one in stamps:
            say(_line(one))
            for key, (number, _) in one.heads.items():
                say(f"  key {key_id(key)}: up to its event {number}")
        if not stamps:
            say("There is no stamp here yet.")
        context.exit(0 if stamps and not any(one.complaint for one in stamps) else 1)


def _line(one: timestamps.Stamp) -> str:
    at = f"{one.at:%Y-%m-%d %H:%M:%S} UTC" if one.at else "no time"
    if one.complaint:
        return f"{one.name}: NOT VALID: {one.complaint}"
    if one.is_proved:
        return f"{one.name}: proved, {at}"
    return f"{one.name}: {at}, kept but not proved: give the authority's certificate with --ca"
