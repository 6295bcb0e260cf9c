"""Diagnoses made by hand: what is shown of them is tested apart from the engine that makes them."""

from collections.abc import Iterable
from typing import Any

from logic.case import (
    AccountedReading,
    Diagnosis,
    Finding,
    HiddenBehind,
    NextReading,
    UnexplainedReading,
)
from logic.vehicle.points import Point, State

FEED_DROP = (Point.VEHICLE_FEED_DROP, State.IDLE)
HOUSE_DROP = (Point.HOUSE_FEED_DROP, State.IDLE)
OUTPUT = (Point.OUTPUT_CURRENT, State.FAST_IDLE)

NOT_EXPLAINED = UnexplainedReading(
    point=Point.CHARGER_INPUT_VOLTAGE,
    state=State.IDLE,
    value=12.28,
    expected=13.61,
    text="Charger input voltage, engine idling: 12.28 V read; the likeliest answer would make it "
    "about 13.61 V.",
)
TO_CHECK = (
    "The unit: hold its rating plate and its settings against what was entered.",
    "The vehicle feed: look for a diode, an isolator, a relay or a tap on it.",
)
HIDES = (
    HiddenBehind(
        point=HOUSE_DROP[0],
        state=HOUSE_DROP[1],
        faults=("house_feed_resistive", "house_fuse_open"),
        text="Once this is put right, read drop in the house feed, engine idling: high resistance "
        "in the house feed or open house fuse would not show now.",
    ),
)

ACCOUNTED = AccountedReading(
    point=FEED_DROP[0],
    state=FEED_DROP[1],
    value=0.335,
    text="Drop in the vehicle feed, engine idling: 0.335 V is out of range for the cable that was "
    "entered, and right for a longer or thinner one: measure its length and size.",
)


def diagnosis(*weighed: tuple[Any, float], **more: Any) -> Diagnosis:
    """Build a diagnosis of findings with their probabilities; ``more`` are its other fields."""
    fields: dict[str, Any] = {
        "findings": tuple(_finding(faults, likely) for faults, likely in weighed),
        "marginals": {},
        "next_readings": (),
        "suspect_readings": (),
        "verdicts": (),
    }
    return Diagnosis(**fields | more)


def nothing_listed(unexplained: float = 0.62, **more: Any) -> Diagnosis:
    """Say that two faults share what is left beside "none of them"."""
    left = 1 - unexplained
    return diagnosis(
        ("vehicle_feed_resistive", 0.6 * left),
        ("charger_output_limited", 0.4 * left),
        unexplained=unexplained,
        unexplained_readings=(NOT_EXPLAINED,),
        to_check=TO_CHECK,
        **more,
    )


def hiding(fault: str, likely: float = 0.97, **more: Any) -> Diagnosis:
    """Say of a fault, almost certain, that it hides others."""
    finding = Finding(faults=(fault,), probability=likely, hides=HIDES)
    return diagnosis(findings=(finding,), unexplained=0.01, **more)


def sound_but_out_of_range(likely: float = 0.7) -> Diagnosis:
    """Say that all is as it should be, and what accounts for a reading out of range."""
    finding = Finding(faults=("no_fault",), probability=likely, accounts_for=(ACCOUNTED,))
    return diagnosis(findings=(finding,), unexplained=0.02)


def offered(readings: Iterable[tuple[Point, State]]) -> tuple[NextReading, ...]:
    """Offer readings as next ones, best first."""
    return tuple(
        NextReading(point=point, state=state, information_bits=1, cost_minutes=1)
        for point, state in readings
    )


def _finding(faults: Any, likely: float) -> Finding:
    return Finding(faults=(faults,) if isinstance(faults, str) else faults, probability=likely)
