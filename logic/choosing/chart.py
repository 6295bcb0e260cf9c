"""A week's state of charge as a small chart: plain figures that glass and paper both draw.

Across the week from 0 to 1, up from an empty to a full battery from 0 to 1.
"""

from dataclasses import dataclass
from itertools import pairwise

from logic.choosing.advice import Advice
from logic.choosing.week import HOURS, STEPS_AN_HOUR, Week

Span = tuple[float, float]


@dataclass(frozen=True)
class Chart:
    """The line of charge by the hour, the floor, and when the engine ran and the sun shone.

    ``sun`` are spans with the panel's strength in their middle, 1 for full sun; none without a
    panel.
    """

    line: tuple[tuple[float, float], ...]
    floor: float
    driven: tuple[Span, ...]
    sun: tuple[tuple[Span, float], ...]
    days: tuple[str, ...] = tuple(f"Day {day}" for day in range(1, 8))


def chart(advice: Advice) -> Chart:
    """Draw up the chart of an advice's week."""
    hours = advice.week.by_the_hour()
    line = tuple((hour / HOURS, charge) for hour, charge in enumerate(hours))
    return Chart(
        line=line,
        floor=advice.floor,
        driven=tuple(_driven(advice.week)),
        sun=tuple(_sun(advice.week)) if advice.supply.panel_a else (),
    )


def _driven(week: Week) -> list[Span]:
    """Join the steps in which the engine ran into spans."""
    steps = HOURS * STEPS_AN_HOUR
    turns = [
        step
        for step, (before, now) in enumerate(pairwise((False, *week.driven, False)))
        if before != now
    ]
    return [
        (begun / steps, ended / steps) for begun, ended in zip(turns[::2], turns[1::2], strict=True)
    ]


def _sun(week: Week) -> list[tuple[Span, float]]:
    """Return the sun of each hour that has any."""
    found = []
    for hour in range(HOURS):
        strength = week.sun[hour * STEPS_AN_HOUR + STEPS_AN_HOUR // 2]
        if strength > 0:
            found.append(((hour / HOURS, (hour + 1) / HOURS), strength))
    return found
