"""House batteries in parallel: what share of the current each one takes.

    i[k+1] r = i[k] r - (what the links before and behind lose)

Equal batteries stand at the same rest voltage; what differs is the length of the way. Both leads
on the first battery leave every further one behind one more pair of links; a lead on either end
(diagonal) gives each of them the same number of links.
"""

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from logic.circuit import batteries, tables
from logic.circuit.conductors import cable_drop
from logic.quantities import Fraction, Ohm
from logic.vehicle.installation import Installation, TakeOff

_LINK_C = 30.0  # assumed: of a link, out of the engine's heat


def shares(resistances: Sequence[Ohm], link_ohm: Ohm, take_off: TakeOff) -> tuple[Fraction, ...]:
    """Return each battery's share of the current, that with the positive lead first.

    Parameters
    ----------
    resistances : Ω
        Each battery's own, in their order along the links.
    link_ohm : Ω
        Of one lead from a post to the next battery's.
    take_off
        Where the two leads leave.

    Returns
    -------
    1
        They sum to 1.

    References
    ----------
    Kirchhoff's laws along the links: each battery's volts differ from its neighbour's by what the
    two links between them lose.
    """
    if take_off is TakeOff.BUSBARS:
        conductances = [1 / ohm for ohm in resistances]
        return tuple(one / sum(conductances) for one in conductances)
    # Each battery's current is a x (the first one's) + b x (the whole); walk along the links.
    terms, a, b = [(1.0, 0.0)], 1.0, 0.0
    for ohm, next_ohm in pairwise(resistances):
        through = (-sum(t[0] for t in terms), 1 - sum(t[1] for t in terms))
        back = through
        if take_off is TakeOff.DIAGONAL:
            back = (-sum(t[0] for t in terms), -sum(t[1] for t in terms))
        a, b = (
            (own * ohm - link_ohm * (there + gone)) / next_ohm
            for own, there, gone in zip((a, b), through, back, strict=True)
        )
        terms.append((a, b))
    first = (1 - sum(t[1] for t in terms)) / sum(t[0] for t in terms)
    return tuple(a * first + b for a, b in terms)


class Sharing(NamedTuple):
    """What share the first battery takes: likely, and the least and most that is right."""

    likely: Fraction
    low: Fraction
    high: Fraction


def first_share(installation: Installation) -> Sharing:
    """Return what share the first of the batteries in parallel should take.

    The first is the one with the positive lead. Where the take-off is not known, anything from
    diagonal to both leads on the first one is right.

    Returns
    -------
    1
    """
    count = installation.house_battery.in_parallel or 1
    known = installation.house_battery.take_off
    each = [each_resistance(installation)] * count
    possible = [shares(each, link_resistance(installation), way)[0] for way in (known,) if way]
    if not possible:
        ways = (TakeOff.DIAGONAL, TakeOff.ONE_END)
        possible = [shares(each, link_resistance(installation), way)[0] for way in ways]
    reach = tables.number("parallel", "share.tolerance") / count
    # With one of them out the others take 1 / (n - 1) each: that must stay out of range as long
    # as the tolerance allows it.
    high = max(*possible, 1 / count + reach)
    return Sharing(sum(possible) / len(possible), 1 / count - reach, min(high, 1.0))


def each_resistance(installation: Installation) -> Ohm:
    """Return one battery's own resistance: all of them together have a share of it.

    Returns
    -------
    Ω
    """
    battery, count = installation.house_battery, installation.house_battery.in_parallel or 1
    capacity = battery.capacity_ah or tables.number("batteries", "capacity.unknown") * count
    return batteries.internal_resistance(
        battery.chemistry, capacity / count, installation.house_scale
    )


def link_resistance(installation: Installation) -> Ohm:
    """Return what one lead from battery to battery has, its two joints included.

    It is taken to be of the house feed's size; links are not entered.

    Returns
    -------
    Ω
    """
    area = installation.runs.house_feed.area_mm2 or tables.number("parallel", "link.area")
    copper = cable_drop(tables.number("parallel", "link.length"), area, 1.0, _LINK_C)
    return copper + 2 * tables.number("parallel", "link.joint")
