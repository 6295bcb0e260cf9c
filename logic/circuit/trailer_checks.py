"""Design checks of what lies between a towing vehicle and what is charged behind it.

The plug, the fuse at the towing vehicle's end, a return of its own, a socket dead unhitched.
"""

import math
from collections.abc import Iterator

from logic.circuit import tables
from logic.circuit.sizing import (
    PRACTICE,
    DesignCheck,
    input_at_lowest,
    is_described,
    is_guess,
    size_words,
)
from logic.vehicle.installation import Extra, Installation, Trailer
from logic.vehicle.points import Run, side_through_plug
from logic.words.figures import as_stated, whole_amperes


def trailer_checks(installation: Installation) -> Iterator[DesignCheck]:
    """Yield the checks of the plug and of both its ends."""
    if not installation.has(Extra.TRAILER):
        return
    trailer = installation.trailer or Trailer()
    feed, back = side_through_plug(installation.location)
    yield _plug(installation, trailer, feed)
    yield _fuse(installation, feed)
    yield _return(installation, back)
    yield _socket(installation, trailer)


def _plug(installation: Installation, trailer: Trailer, feed: Run) -> DesignCheck:
    rule_id, title = "trailer_plug", "Plug carries the current"
    load = input_at_lowest(installation)
    what = "Full input current at the lowest supply"
    if feed is Run.HOUSE_FEED:
        load, what = installation.charger.rated_output_current_a, "Full output current"
    source = (
        f"the rating printed on the plug, as entered; {PRACTICE}: all day at no more than that; "
        f"{tables.row('supply', 'lowest.at_unit').source}"
    )
    text = f"{what} is {whole_amperes(load)}"
    rated = trailer.plug_rated_current_a
    if rated is None:
        text += "; what one contact of the plug carries is not known."
        right = f"Read it off the plug: {whole_amperes(math.ceil(load))} or more."
        return DesignCheck(rule_id, title, None, text, source, right)
    text += f"; one contact of the plug carries {as_stated(rated, 'A')}."
    passed: bool | None = load <= rated + 1e-9
    right = ""
    if not passed:
        right = f"Fit a plug of {whole_amperes(math.ceil(load))} or more for each contact"
        right += (
            f", or set an input limit of {whole_amperes(math.floor(rated))} where the unit has one."
            if feed is Run.VEHICLE_FEED
            else ", or a smaller unit."
        )
    elif is_guess(installation, "trailer.plug_rated_current_a"):
        passed, right = None, "That rating is a guess: read it off the plug."
    return DesignCheck(rule_id, title, passed, text, source, right)


def _fuse(installation: Installation, feed: Run) -> DesignCheck:
    """Ask for a fuse at the battery that feeds the plug: a unit limits what itself gives."""
    from_vehicle = feed is Run.VEHICLE_FEED
    title = "Fused in the towing vehicle" if from_vehicle else "Fused at the trailer's battery"
    source = f"{PRACTICE}; fuse at the source: 33 CFR 183.455(b), a small-craft rule"
    fuse = getattr(installation.runs, feed.value).fuse_a
    text = f"The fuse of the {feed.full_name} is not known."
    if fuse is not None:
        text = f"The {feed.full_name} has a {as_stated(fuse, 'A')} fuse."
    if not from_vehicle:
        right = (
            "It must sit in the trailer, at the house battery: a parted or crushed plug shorts "
            "that battery, whose volts stand on the plug's pins. They need covered contacts."
        )
    elif fuse is None:
        right = (
            "A plug pulled off or crushed shorts the feed: fuse it at the battery that feeds it."
        )
    else:
        right = (
            "It must sit in the towing vehicle, before the socket; one in the trailer is another."
        )
    return DesignCheck("trailer_fuse", title, None, text, source, right)


def _return(installation: Installation, back: Run) -> DesignCheck:
    rule_id, title = "trailer_return", "Return by its own conductor"
    cable = getattr(installation.runs, back.value)
    if is_described(cable):
        text = (
            f"{as_stated(cable.length_m, 'm')} of {size_words(cable)} come back through the plug."
        )
        return DesignCheck(rule_id, title, True, text, PRACTICE)
    text = f"The {back.full_name} is not described; it cannot be the body, which ends at the hitch."
    right = "A conductor as thick as the feed, through the plug: ball and coupling are no joint."
    return DesignCheck(rule_id, title, None, text, PRACTICE, right)


def _socket(installation: Installation, trailer: Trailer) -> DesignCheck:
    rule_id, title = "trailer_socket", "Tow socket dead when unhitched"
    dead = trailer.socket_dead_unhitched
    if dead is None:
        text = "Whether the tow socket is dead while nothing is hitched is not known."
        return DesignCheck(rule_id, title, None, text, PRACTICE, "Measure it, unhitched.")
    if dead:
        text = "The tow socket is dead while nothing is hitched."
        return DesignCheck(rule_id, title, True, text, PRACTICE)
    text = "The tow socket's charging contacts are live while nothing is hitched."
    when = "the vehicle is ready" if installation.has(Extra.CONVERTER) else "the engine runs"
    right = f"Feed them through a relay that closes only while {when}."
    return DesignCheck(rule_id, title, False, text, PRACTICE, right)
