"""One reading of a sheet made wrong: a slipped decimal, the sign, millivolts, the wrong post."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from tests.simulator.field.drawing import one_of
from tests.simulator.field.metering import LAMPS, TEMPERATURES
from tests.simulator.field.sheets import slack
from tests.simulator.field.vehicle import CURRENTS, Key

Generator = np.random.Generator
Rows = list[dict[str, Any]]

_NEVER_SPOILT = (*TEMPERATURES, *LAMPS, "profile_setting_voltage", "sunlight_fraction")
_KINDS = ("decimal", "sign", "millivolts", "wrong_post")
# Which points are mistaken for one another.
_MISTAKEN_FOR: Mapping[str, tuple[str, ...]] = {
    "start_battery_voltage": ("charger_input_voltage", "house_battery_voltage"),
    "charger_input_voltage": ("start_battery_voltage", "charger_output_voltage"),
    "charger_output_voltage": ("charger_input_voltage", "house_battery_voltage"),
    "house_battery_voltage": ("charger_output_voltage", "start_battery_voltage"),
    "vehicle_feed_drop": ("house_feed_drop", "charger_input_voltage"),
    "house_feed_drop": ("vehicle_feed_drop", "charger_output_voltage"),
    "vehicle_return_drop": ("house_return_drop", "vehicle_feed_drop"),
    "house_return_drop": ("vehicle_return_drop", "house_feed_drop"),
    "ignition_signal_voltage": ("charger_output_voltage",),
    "input_current": ("output_current",),
    "output_current": ("input_current",),
    "solar_input_voltage": ("solar_open_circuit_voltage",),
    "solar_open_circuit_voltage": ("solar_input_voltage",),
}
# A spoilt reading is another number plainly, and one that a case may hold at all.
_PLAINLY, _MOST = 6.0, 1000.0


@dataclass(frozen=True)
class Spoilt:
    """A sheet with one wrong reading."""

    rows: Rows
    key: Key
    kind: str
    was: float


def spoil(rng: Generator, rows: Rows, scale: float) -> Spoilt:
    """Return the sheet with one reading spoilt, plain to see."""
    while True:
        kind, index = one_of(rng, _KINDS), int(rng.integers(len(rows)))
        point, state, value = (rows[index][name] for name in ("point", "state", "value"))
        if point in _NEVER_SPOILT:
            continue
        wrong = _wrong(rng, kind, rows, index)
        if wrong is None or abs(wrong) > _MOST:
            continue
        if abs(wrong - value) < _PLAINLY * slack(point, value, scale):
            continue
        spoilt = [dict(row) for row in rows]
        spoilt[index]["value"] = round(wrong, 5)
        return Spoilt(spoilt, (point, state), kind, value)


def _wrong(rng: Generator, kind: str, rows: Rows, index: int) -> float | None:
    point, state, value = (rows[index][name] for name in ("point", "state", "value"))
    if kind == "decimal":
        return float(value * (10 if rng.random() < 0.5 else 0.1))
    if kind == "sign":
        return float(-value)
    if kind == "millivolts":
        if point in CURRENTS:
            return None
        return float(value * 1000 if abs(value) < 2 else value / 1000)
    others = [
        float(row["value"])
        for row in rows
        if row["state"] == state and row["point"] in _MISTAKEN_FOR.get(point, ())
    ]
    return one_of(rng, others) if others else None
