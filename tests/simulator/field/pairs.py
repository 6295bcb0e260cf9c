"""Which two faults a sheet can show at once: neither hides the other, nor are they of one kind.

Beside this table each must show in the figures, the other being there (``trial_vehicles``).
"""

from itertools import combinations

import numpy as np

from tests.simulator.field.faults_put_in import FAULTS, NORMAL, RESISTIVE, SOLAR

Generator = np.random.Generator

# Every other reading stands on its head with these.
_GO_WITH_NOTHING = {"input_output_exchanged", "charger_negative_open"}
_DEAD = {"vehicle_fuse_open", "charger_no_output"}
_NO_CHARGE = {"house_fuse_open", "house_battery_protected"}
_LITTLE_CURRENT = {
    "charger_thermal_derating",
    "charger_output_limited",
    "rating_differs",
    "house_battery_high_resistance",
}
_NEED_CURRENT = {*RESISTIVE, *_LITTLE_CURRENT}
_DRAIN_THE_START_BATTERY = {"ignition_always_live", "standing_draw"}

_ONE_OF = (
    _DEAD | _NO_CHARGE,
    _LITTLE_CURRENT,
    {"profile_too_low", "profile_too_high"},
    {"house_battery_low_cell", "house_battery_high_resistance", "house_battery_protected"},
    set(SOLAR),
    {"ignition_signal_missing", "ignition_always_live"},
    {"alternator_not_charging", "alternator_overvoltage"},
    # Both are current on the feed that the unit does not put out.
    {"standing_draw", "consumer_on_vehicle_feed"},
)
_HIDES = (
    (_DEAD | _NO_CHARGE, _NEED_CURRENT),
    ({"alternator_not_charging", "ignition_signal_missing"}, _NEED_CURRENT | _DEAD | _NO_CHARGE),
    # Where the unit takes nothing from the panel, only the panel's open voltage is left to read.
    (_DEAD | _NO_CHARGE, {"solar_undersupply", "solar_second_regulator"}),
    # Behind an open fuse nothing is drawn.
    ({"vehicle_fuse_open"}, {"standing_draw", "consumer_on_vehicle_feed"}),
    # A unit at work with the key off draws more than one that is merely awake.
    ({"ignition_always_live"}, {"standing_draw"}),
    # A battery that is drained, or not charged, rests low and sags without being weak.
    (_DRAIN_THE_START_BATTERY | {"alternator_not_charging"}, {"start_battery_weak"}),
    # Another charger holds up posts that the battery's own protection has let go.
    ({"other_source_on_house"}, {"house_battery_protected", "house_battery_low_cell"}),
)


def both_visible(one: str, other: str) -> bool:
    """Whether a full sheet can show both."""
    pair = {one, other}
    if pair & (_GO_WITH_NOTHING | set(NORMAL)) or any(pair <= kind for kind in _ONE_OF):
        return False
    return not any(
        (one in first and other in second) or (other in first and one in second)
        for first, second in _HIDES
    )


PAIRS = tuple(pair for pair in combinations(sorted(FAULTS), 2) if both_visible(*pair))


def draw_two(rng: Generator) -> tuple[str, str]:
    """Draw two faults that can both be seen."""
    return PAIRS[int(rng.integers(len(PAIRS)))]
