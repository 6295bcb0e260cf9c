"""What a device signs of each event: the event itself, its number, and the one before it.

So a device's events are one chain. Nobody can change one, leave one out of the middle or put one
in between without the device's key, and whoever holds a later signature holds the chain to it. A
seal names the head of the chain that its device had come to.
"""

from __future__ import annotations

import hashlib
from typing import Any

from pydantic import Field

from logic.quantities import Data
from logic.records.events import Digest
from logic.records.keys import DeviceKey, signature_is_good
from logic.records.seal import canonical

SIGNED = ("key", "number", "before", "signature")
"""What stands in an event's row when it is signed; all ``None`` in one of release 0.1.0."""

MOST_EVENTS = 2**53
"""The largest whole number that every JSON reader keeps exactly (RFC 8785, 3.2.2.3)."""

_HEADER = b"voltwalk-event-1\n"


class Link(Data):
    """An event's place in its device's chain, and the device's signature under it.

    ``key`` is the public key, ``number`` counts from 1, ``before`` is the SHA-256 of the text
    that was signed for the event before.
    """

    key: Digest
    number: int = Field(ge=1, le=MOST_EVENTS)
    before: Digest | None = None
    signature: str = Field(pattern=r"^[0-9a-f]{128}$")


def event_text(event: dict[str, Any]) -> bytes:
    """Return what is signed of an event: a heading and its canonical JSON, signature left out.

    Parameters
    ----------
    event
        The event as it stands in an exchange file: ``event_id``, ``vehicle_id``, ``job_id``,
        ``at``, ``device``, ``key``, ``number``, ``before`` and ``body``.
    """
    return _HEADER + canonical({name: event[name] for name in event if name != "signature"})


def event_digest(event: dict[str, Any]) -> str:
    """Return the SHA-256 of an event's text: what the next one of its device names."""
    return hashlib.sha256(event_text(event)).hexdigest()


def linked(event: dict[str, Any], key: DeviceKey, number: int, before: str | None) -> Link:
    """Sign an event as the next of a device's chain."""
    text = event_text({**event, "key": key.public, "number": number, "before": before})
    return Link(key=key.public, number=number, before=before, signature=key.sign(text))


def is_signed(event: dict[str, Any]) -> bool:
    """Whether an event that has a :class:`Link`'s parts was signed with the key that it names."""
    return signature_is_good(event["key"], event["signature"], event_text(event))
