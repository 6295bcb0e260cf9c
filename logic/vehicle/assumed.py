"""Assumed figures that more than one room stands on: each once, with its unit and its source.

A figure is typed ``Annotated[unit, source]``. Volts are for a 12 V system and double at 24 V.
What belongs to one part of the circuit is a row of the tables in :mod:`logic.circuit`; a
figure that one module alone needs stands there.
"""

from typing import Annotated

from logic.quantities import Ampere, Fraction, Volt

DRIFT_V: Annotated[
    Volt,
    "assumed: most that the supply moves between two readings (engine speed, lamps, fan), taken "
    "as three standard spreads",
] = 0.1

PROBE_CONTACT_V: Annotated[
    Volt, "assumed: most that probe contact and the meter's own zero add to a drop"
] = 0.005

JOINT_AGEING: Annotated[
    Fraction,
    "assumed: standard share by which a sound run's resistance wanders from one visit to the next "
    "(temperature, bolts)",
] = 0.12

TELLING_CURRENT_A: Annotated[
    Ampere, "common practice, no published source: with less flowing a bad joint does not show"
] = 1.5

TELLING_SHARE: Annotated[
    Fraction, "assumed: the same for large units, as a share of the rated output"
] = 0.05

QUOTIENT_CURRENT_A: Annotated[
    Ampere, "assumed: with less, a clamp's zero error spoils the resistance that drop over it makes"
] = 5.0

DEAD_V: Annotated[
    Volt, "assumed: under half the system's voltage nothing feeds a post; lost, it is a break"
] = 6.0

HIGHEST_LIVE_V: Annotated[
    Volt, "value from memory: ISO 16750-2 tests 12 V equipment for long overvoltage at 18 V"
] = 18.0

NEARLY_FULL: Annotated[
    Fraction, "assumed: least state of charge at which a battery counts as nearly full"
] = 0.9

NEAR_PROFILE_V: Annotated[
    Volt, "assumed: so close under the profile's voltage the current may already be falling"
] = 0.25

PROFILE_TOLERANCE_V: Annotated[
    Volt, "assumed: nearest profile that still counts as the one the battery asks for"
] = 0.1
