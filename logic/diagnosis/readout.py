"""From the settled circuit to what the meter shows: every point, with its slopes and its noise."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from logic.diagnosis.hypotheses import POINT_INDEX, STATES, Hypotheses
from logic.diagnosis.noise import DRIFTS, reading_noise
from logic.diagnosis.prediction import OUTPUT_INDEX, Setting, Settled, settle
from logic.diagnosis.unknowns import INDEX, NAMES, is_volts
from logic.vehicle.installation import Meter
from logic.vehicle.points import Point, State

Array = NDArray[np.float64]
Place = tuple[Point, State]
_DRIFTING = [INDEX[name] for name, _ in DRIFTS]

# Of a reading whose value the model cannot tell, beside the hypothesis' own looseness.
_TERMINAL_SPREAD_V = 0.6
_UNLIT_SPREAD_V = 6.0
# A trigger is easily read against a nearby earth instead of the unit's own negative, so what
# lifts that negative may or may not be in the reading; assumed, for a 12 V system.
_SIGNAL_SPREAD_V = 0.4
_SIGNAL_MOST_SPREAD_V = 2.5


@dataclass(frozen=True)
class Shown:
    """Predicted ``value[h, r]``, ``slope[h, r, unknown]`` and standard spread ``noise[h, r]``."""

    value: Array
    slope: Array
    noise: Array


class Readout:
    """Predicts a fixed list of readings for any hypotheses."""

    def __init__(self, setting: Setting, places: Sequence[Place], meter: Meter | None) -> None:
        """Prepare for some readings, all at points that are :data:`PREDICTED`."""
        self._setting = setting
        self.places = tuple(places)
        states = [state for state in STATES if any(state is place[1] for place in self.places)]
        self._solved = Setting(setting.sound, tuple(states), setting.has_panel, setting.scale)
        scale = setting.scale
        self._drift = np.array([drift for _, drift in DRIFTS]) * np.array(
            [scale if is_volts(name) else 1.0 for name, _ in DRIFTS]
        )
        noises = [reading_noise(point, state, meter, scale) for point, state in self.places]
        self._fixed = np.array([noise.fixed for noise in noises])
        self._share = np.array([noise.share for noise in noises])
        units = [point.unit for point, _ in self.places]
        self._is_volt = np.array([unit == "V" for unit in units])
        for place, (point, _) in enumerate(self.places):
            self._is_volt[place] &= point is not Point.PROFILE_SETTING_VOLTAGE
        self._is_amp = np.array([unit == "A" for unit in units])
        self._plain = [
            (place, states.index(state), OUTPUT_INDEX[point])
            for place, (point, state) in enumerate(self.places)
            if point in OUTPUT_INDEX
        ]
        self._points = [POINT_INDEX[point] for point, _ in self.places]

    def show(self, rows: Hypotheses, theta: Array, smoothing: float) -> Shown:
        """Predict all readings of all rows at their unknowns."""
        count = len(self.places)
        true = np.zeros((len(theta), count))
        slope = np.zeros((len(theta), count, len(NAMES)))
        settled = settle(self._solved, rows, theta, smoothing)
        if self._plain:
            which, states, outputs = (list(column) for column in zip(*self._plain, strict=True))
            true[:, which] = settled.value[:, states, outputs]
            slope[:, which] = settled.slope[:, states, outputs]
        loose = rows.loose[:, self._points].copy()
        for place, (point, state) in enumerate(self.places):
            special = _SPECIAL.get(point)
            if special is not None:
                at = _At(rows, theta, settled, self._solved, state)
                special(at, true[:, place], slope[:, place], loose[:, place])
        return self._metered(theta, true, slope, loose)

    def _metered(self, theta: Array, true: Array, slope: Array, loose: Array) -> Shown:
        volts = np.where(self._is_volt, theta[:, [INDEX["voltage_gain"]]], 0.0)
        amps = np.where(self._is_amp, theta[:, [INDEX["current_gain"]]], 0.0)
        zero = np.where(self._is_amp, theta[:, [INDEX["clamp_zero_a"]]], 0.0)
        gain = 1 + volts + amps
        slope *= gain[:, :, None]
        slope[:, :, INDEX["voltage_gain"]] += np.where(self._is_volt, true, 0.0)
        slope[:, :, INDEX["current_gain"]] += np.where(self._is_amp, true, 0.0)
        slope[:, :, INDEX["clamp_zero_a"]] += self._is_amp
        drift = slope[:, :, _DRIFTING] * self._drift
        variance = self._fixed**2 + (self._share * true) ** 2 + loose**2 + (drift**2).sum(axis=2)
        noise = np.sqrt(variance)
        return Shown(true * gain + zero, slope, noise)


@dataclass(frozen=True)
class _At:
    """What a special point is worked out from, in one state."""

    rows: Hypotheses
    theta: Array
    settled: Settled
    setting: Setting
    state: State

    def unknown(self, name: str) -> Array:
        """Return one unknown's column."""
        return self.theta[:, INDEX[name]]

    def output(self, point: Point) -> tuple[Array, Array]:
        """Return a settled point's values and slopes."""
        place = self.setting.states.index(self.state)
        column = OUTPUT_INDEX[point]
        return self.settled.value[:, place, column], self.settled.slope[:, place, column]


def _signal(at: _At, true: Array, slope: Array, loose: Array) -> None:
    """Supply less a switch's drop while the engine runs, read against a lifted negative.

    It tells live from dead; of the return it tells little, whose own drop proves it better.
    """
    if not at.state.engine_runs:
        true += at.unknown("signal_rest_v")
        slope[:, INDEX["signal_rest_v"]] += 1
        return
    live = at.rows.live.astype(np.float64)
    supply, supply_slope = at.output(Point.START_BATTERY_VOLTAGE)
    lifted, lifted_slope = at.output(Point.VEHICLE_RETURN_DROP)
    scale = at.setting.scale
    unsure = np.clip(lifted, _SIGNAL_SPREAD_V * scale, _SIGNAL_MOST_SPREAD_V * scale)
    np.maximum(loose, live * unsure, out=loose)
    true += live * (supply - lifted - at.unknown("signal_drop_v"))
    slope += live[:, None] * (supply_slope - lifted_slope)
    slope[:, INDEX["signal_drop_v"]] -= live
    true += (1 - live) * at.unknown("signal_level_v")
    slope[:, INDEX["signal_level_v"]] += 1 - live


_Special = Callable[[_At, Array, Array, Array], None]


def _plain(name: str) -> _Special:
    def add(at: _At, true: Array, slope: Array, _loose: Array) -> None:
        true += at.unknown(name)
        slope[:, INDEX[name]] += 1

    return add


def _case(at: _At, true: Array, slope: Array, _loose: Array) -> None:
    """Case temperature: at rest, or giving nothing, near the air around."""
    air = at.setting.sound.ambient_c.mean
    if not at.state.engine_runs:
        true += air + 2
        return
    works, _ = at.output(Point.OUTPUT_CURRENT)
    share = np.where(works > 1.0, 1.0, 0.5)
    true += air + share * (at.unknown("case_c") - air)
    slope[:, INDEX["case_c"]] += share


def _sun(at: _At, true: Array, slope: Array, _loose: Array) -> None:
    true += at.unknown("sun")
    slope[:, INDEX["sun"]] += 1
    if at.state.engine_runs:
        true += at.unknown("sun_engine")
        slope[:, INDEX["sun_engine"]] += 1


def _panel_terminal(at: _At, true: Array, slope: Array, loose: Array) -> None:
    """Working voltage where all is used, open-circuit where nothing is, between them otherwise."""
    used, _ = at.output(Point.SOLAR_CURRENT)
    engine = at.unknown("sun_engine") * at.state.engine_runs
    given = np.exp(at.unknown("panel_share")) * np.clip(at.unknown("sun") + engine, 0, None)
    share = np.where(at.rows.panel == 0, np.clip(used / np.maximum(given, 1e-3), 0, 1), 0.0)
    silent = at.rows.panel == 1
    true += share * at.unknown("panel_terminal_v")
    slope[:, INDEX["panel_terminal_v"]] += share
    idle = np.where(silent, 0.0, 1 - share)
    true += idle * at.unknown("panel_open_v")
    slope[:, INDEX["panel_open_v"]] += idle
    # With no light on a connected panel its terminal stands anywhere under open circuit.
    dark = at.state is not State.SOLAR and (at.rows.panel == 0) & ~at.rows.sunny
    unlit = _UNLIT_SPREAD_V * at.setting.scale
    np.maximum(loose, np.where(dark, unlit, _TERMINAL_SPREAD_V), out=loose)


_SPECIAL: Mapping[Point, _Special] = {
    Point.IGNITION_SIGNAL_VOLTAGE: _signal,
    Point.SOLAR_OPEN_CIRCUIT_VOLTAGE: _plain("panel_open_v"),
    Point.SOLAR_INPUT_VOLTAGE: _panel_terminal,
    Point.CHARGER_CASE_TEMPERATURE: _case,
    Point.HOUSE_BATTERY_TEMPERATURE: _plain("house_c"),
    Point.PROFILE_SETTING_VOLTAGE: _plain("profile_v"),
    Point.SUNLIGHT_FRACTION: _sun,
}
PREDICTED = frozenset(OUTPUT_INDEX) | frozenset(_SPECIAL)
"""The metered points that the circuit says something about; readings at others are left out."""
