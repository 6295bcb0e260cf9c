"""Under which conditions readings are taken: with care on a steady vehicle, or in a hurry.

How steady supply and loads were, how true the meter is and how well the cables were described is
not known beforehand, and it is the same for all readings of a visit.  So every hypothesis is
fitted under both, and with care beside a careless description, and the readings themselves say
which it was: what careful conditions call a second fault or a spoilt reading is often a headlamp
that was switched on in between, or a length that was paced out.

All spreads are standard deviations (k = 1), assumed, volts at 12 V.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import NamedTuple

from logic.quantities import Fraction


@dataclass(frozen=True)
class Conditions:
    """How far readings and descriptions are to be trusted on one visit."""

    share: Fraction
    """Of all visits."""
    drifts: Mapping[str, float]
    """What moves between two readings, in the unknowns' own coordinates: a reading moves by that
    times its own slope, so a current held by the input's lowest voltage moves a lot."""
    meter: float
    """Factor on the spread of the meter's gains and zero."""
    described: float
    """Factor on the spread of what follows from a description of the cables."""


CAREFUL = Conditions(
    share=0.7,
    drifts=MappingProxyType(
        {
            "supply_idle_v": 0.02,
            # A battery alone sags slowly; no regulator moves it.
            "supply_sag_v": 0.012,
            "supply_rest_v": 0.01,
            "house_rise_v": 0.02,
            "house_rise_solar_v": 0.03,
            "house_tail_a": 0.04,
            "output_share": 0.015,
            "load_a": 0.05,
            "load_rest_a": 0.05,
            "regulation_v": 0.004,
            "sun": 0.05,
        }
    ),
    meter=1.0,
    described=1.0,
)

# A supply that hunts by some tenths of a volt, a fridge that cycles, a meter whose battery is
# flat, a clamp that was not zeroed, lengths that were guessed.
HURRIED = Conditions(
    share=0.2,
    drifts=MappingProxyType(
        {
            "supply_idle_v": 0.12,
            "supply_sag_v": 0.12,
            "supply_rest_v": 0.03,
            "house_rise_v": 0.05,
            "house_rise_solar_v": 0.06,
            "house_tail_a": 0.25,
            "output_share": 0.03,
            "load_a": 1.2,
            "load_rest_a": 0.8,
            "regulation_v": 0.015,
            "sun": 0.15,
        }
    ),
    meter=2.5,
    described=2.2,
)


class Steady(NamedTuple):
    """Of the visits on which readings are taken with care, those on which next to nothing moves."""

    share: Fraction
    drifts: Fraction
    """Of a careful visit's drifts, what is then left."""


STEADY = Steady(share=0.5, drifts=0.2)

# A length paced out wrongly, or a size misread, and the readings taken with care all the same.
MISDESCRIBED_SHARE: Fraction = 0.1
MISDESCRIBED: float = 2.2
"""Factor on the spread of what follows from such a description of the cables."""
