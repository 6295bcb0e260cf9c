"""What each hypothesis predicts for every point and state, with its slope on every unknown.

The unknowns of a hypothesis become the few numbers that one state of the circuit needs
(:data:`TERMS`); the circuit is solved for all hypotheses, states and small steps at once, and
the chain rule does the rest.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from logic.circuit.healthy import Healthy
from logic.circuit.operating_point import Circuit, OperatingPoint, solve
from logic.diagnosis.hypotheses import STATES, Hypotheses
from logic.diagnosis.unknowns import INDEX, LOAD_OFFSET_A, NAMES, RUN_NAMES
from logic.vehicle.points import Point, State

Array = NDArray[np.float64]

# The panel's terms come last: without a panel they are left out.
TERMS = (
    *RUN_NAMES,
    "house_emf",
    "house_battery",
    "efficiency",
    "own_use",
    "output_share",
    "load",
    "limit",
    "supply",
    "sun_current",
    "panel",
)
_T = {name: place for place, name in enumerate(TERMS)}
_STEP = np.array([1e-6] * 4 + [1e-4, 1e-6, 1e-5, 1e-3, 1e-5, 1e-4, 1e-4, 1e-4, 1e-4, 1e-4])

# What the circuit gives, in this order.
OUTPUTS: tuple[Point, ...] = (
    Point.START_BATTERY_VOLTAGE,
    Point.VEHICLE_FEED_DROP,
    Point.VEHICLE_RETURN_DROP,
    Point.CHARGER_INPUT_VOLTAGE,
    Point.CHARGER_OUTPUT_VOLTAGE,
    Point.HOUSE_FEED_DROP,
    Point.HOUSE_RETURN_DROP,
    Point.HOUSE_BATTERY_VOLTAGE,
    Point.INPUT_CURRENT,
    Point.OUTPUT_CURRENT,
    Point.HOUSE_LOAD_CURRENT,
    Point.SOLAR_CURRENT,
)
OUTPUT_INDEX = {point: place for place, point in enumerate(OUTPUTS)}


@dataclass(frozen=True)
class Settled:
    """Circuit outputs ``value[h, s, o]`` and their slopes ``slope[h, s, o, unknown]``."""

    value: Array
    slope: Array


@dataclass(frozen=True)
class Setting:
    """What is the same in all hypotheses of one call."""

    sound: Healthy
    states: tuple[State, ...]
    has_panel: bool
    scale: float = 1.0


class _Terms:
    """Values ``[h, s, term]`` and slopes ``[h, s, term, unknown]``, filled term by term."""

    def __init__(self, rows: int, states: int) -> None:
        self.value = np.zeros((rows, states, len(TERMS)))
        self.slope = np.zeros((rows, states, len(TERMS), len(NAMES)))

    def add(self, term: str, unknown: str, value: Array, slope: Array | float) -> None:
        """Add a part that depends on one unknown; arrays are [h, 1] or [h, s]."""
        self.value[:, :, _T[term]] += value
        self.slope[:, :, _T[term], INDEX[unknown]] += slope


def settle(setting: Setting, rows: Hypotheses, theta: Array, smoothing: float) -> Settled:
    """Solve every hypothesis in every state, with slopes by small steps.

    Parameters
    ----------
    setting
        Constants and the states to solve.
    rows
        The hypotheses, one per row of ``theta``.
    theta : in the units of the fit
        One row of unknowns for each hypothesis.
    smoothing : A
        Of the smooth minimum inside the circuit.
    """
    places = [STATES.index(state) for state in setting.states]
    terms = _terms(setting, rows, theta, places)
    moved = len(TERMS) if setting.has_panel else _T["sun_current"]
    stepped = np.repeat(terms.value[None], moved + 1, axis=0)
    for place, step in enumerate(_STEP[:moved]):
        stepped[place + 1, :, :, place] += step
    found = _outputs(setting, rows, stepped, places, smoothing)
    by_term = np.moveaxis((found[1:] - found[:1]) / _STEP[:moved, None, None, None], 0, -1)
    return Settled(found[0], by_term @ terms.slope[:, :, :moved])


def _column(theta: Array, name: str) -> Array:
    return theta[:, INDEX[name], None]


def _terms(setting: Setting, rows: Hypotheses, theta: Array, places: Sequence[int]) -> _Terms:
    terms = _Terms(len(theta), len(places))
    for run in RUN_NAMES:
        for unknown in (f"{run}_ohm", f"{run}_extra_ohm"):
            ohm = np.exp(_column(theta, unknown))
            terms.add(run, unknown, ohm, ohm)
    for term, unknown in (("house_battery", "house_battery_ohm"), ("output_share", "output_share")):
        value = np.exp(_column(theta, unknown))
        terms.add(term, unknown, value, value)
    for term, unknown in (("efficiency", "efficiency"), ("own_use", "own_use_w")):
        terms.add(term, unknown, _column(theta, unknown), 1.0)
    _add_limit(rows, theta, terms)
    _add_load(theta, terms, places)
    _add_supply(rows, theta, terms, places)
    if setting.has_panel:
        _add_panel(rows, theta, terms, places)
    _add_battery(setting, rows, theta, terms, places)
    return terms


def _add_limit(rows: Hypotheses, theta: Array, terms: _Terms) -> None:
    profile = np.where(rows.at_float, 0.0, 1.0)[:, None]
    terms.add("limit", "profile_v", profile * _column(theta, "profile_v"), profile)
    terms.add("limit", "float_v", (1 - profile) * _column(theta, "float_v"), 1 - profile)
    terms.add("limit", "regulation_v", _column(theta, "regulation_v"), 1.0)


def _add_load(theta: Array, terms: _Terms, places: Sequence[int]) -> None:
    at_rest = _where(places, 0)
    for unknown, share in (("load_a", 1 - at_rest), ("load_rest_a", at_rest)):
        load = np.exp(_column(theta, unknown)) * share
        terms.add("load", unknown, load - LOAD_OFFSET_A * share, load)


def _where(places: Sequence[int], *wanted: int) -> Array:
    return np.array([[float(place in wanted) for place in places]])


def _add_supply(rows: Hypotheses, theta: Array, terms: _Terms, places: Sequence[int]) -> None:
    engine, fast = _where(places, 1, 2), _where(places, 2)
    battery = rows.on_battery[:, None]
    driven = engine * ~battery
    terms.add("supply", "supply_idle_v", driven * _column(theta, "supply_idle_v"), driven)
    terms.add("supply", "supply_fast_v", fast * _column(theta, "supply_fast_v"), fast)
    resting = 1 - driven
    terms.add("supply", "supply_rest_v", resting * _column(theta, "supply_rest_v"), resting)
    sagging = engine * battery
    terms.add("supply", "supply_sag_v", -sagging * _column(theta, "supply_sag_v"), -sagging)


def _add_panel(rows: Hypotheses, theta: Array, terms: _Terms, places: Sequence[int]) -> None:
    lit = _lit(rows, places)
    engine = _where(places, 1, 2)
    share = np.exp(_column(theta, "panel_share"))
    sun = _column(theta, "sun") + engine * _column(theta, "sun_engine")
    shining = np.clip(sun, 0.0, None)
    rising = (sun > 0) * lit * share
    terms.add("sun_current", "panel_share", lit * share * shining, lit * share * shining)
    terms.add("sun_current", "sun", np.zeros(1), rising)
    terms.add("sun_current", "sun_engine", np.zeros(1), rising * engine)
    terms.add("panel", "panel_terminal_v", _column(theta, "panel_terminal_v"), 1.0)


def _lit(rows: Hypotheses, places: Sequence[int]) -> Array:
    """Whether the panel gives anything, by row and state."""
    engine = _where(places, 1, 2) * rows.sunny[:, None]
    return np.asarray((engine + _where(places, 3)) * (rows.panel == 0)[:, None])


def charging(setting: Setting, rows: Hypotheses, places: Sequence[int]) -> NDArray[np.bool_]:
    """Whether charge goes into the battery, by row and state."""
    fed = rows.on[:, list(places)].copy()
    if setting.has_panel:
        fed |= _lit(rows, places) > 0
    stopped = rows.dead | rows.house_open | rows.negative_open
    stopped |= rows.blocks_charging | rows.blocks_all
    return fed & ~stopped[:, None]


def _add_battery(
    setting: Setting, rows: Hypotheses, theta: Array, terms: _Terms, places: Sequence[int]
) -> None:
    """Battery voltage behind its resistance; a nearly full one is told by its tail current."""
    takes = charging(setting, rows, places)
    tail = takes & rows.nearly_full[:, None]
    rested = np.where(tail, 0.0, 1.0)
    terms.add("house_emf", "house_rest_v", rested * _column(theta, "house_rest_v"), rested)
    engine = takes * rested * (1 - _where(places, 3))
    terms.add("house_emf", "house_rise_v", engine * _column(theta, "house_rise_v"), engine)
    fast = engine * _where(places, 2)
    terms.add("house_emf", "house_rise_fast_v", fast * _column(theta, "house_rise_fast_v"), fast)
    sunny = takes * rested * _where(places, 3)
    terms.add(
        "house_emf", "house_rise_solar_v", sunny * _column(theta, "house_rise_solar_v"), sunny
    )
    current = np.exp(_column(theta, "house_tail_a")) * tail
    terms.add("house_emf", "house_tail_a", current, current)


def _outputs(
    setting: Setting, rows: Hypotheses, terms: Array, places: Sequence[int], smoothing: float
) -> Array:
    circuit = _circuit(setting, rows, terms, places)
    settled = solve(circuit, smoothing)
    panel = np.maximum(terms[..., _T["panel"]], 1.0)
    return np.stack([*_electrical(settled), settled.solar_power_w / panel], axis=-1)


def _electrical(point: OperatingPoint) -> tuple[Array, ...]:
    return (
        point.start_battery_voltage_v,
        point.vehicle_feed_drop_v,
        point.vehicle_return_drop_v,
        point.charger_input_voltage_v,
        point.charger_output_voltage_v,
        point.house_feed_drop_v,
        point.house_return_drop_v,
        point.house_battery_voltage_v,
        point.input_current_a,
        point.output_current_a,
        point.house_load_current_a,
    )


def _circuit(setting: Setting, rows: Hypotheses, terms: Array, places: Sequence[int]) -> Circuit:
    part = {name: terms[..., place] for name, place in _T.items()}
    house = part["house_feed"] + part["house_return"]
    tail = (charging(setting, rows, places) & rows.nearly_full[:, None])[None]
    current = part["house_emf"]
    full = part["limit"] - (current + part["load"]) * house - current * part["house_battery"]
    return Circuit(
        supply_v=part["supply"],
        vehicle_feed_ohm=np.where(rows.feed_open[:, None], np.inf, part["vehicle_feed"]),
        vehicle_return_ohm=part["vehicle_return"],
        house_feed_ohm=np.where(rows.house_open[:, None], np.inf, part["house_feed"]),
        house_return_ohm=part["house_return"],
        house_emf_v=np.where(tail, full, part["house_emf"]),
        house_battery_ohm=part["house_battery"],
        rated_output_a=setting.sound.charger.rated_output_a,
        voltage_limit_v=part["limit"],
        efficiency=np.clip(part["efficiency"], 0.5, 1.0),
        self_consumption_w=np.maximum(part["own_use"], 0.0),
        output_fraction=part["output_share"],
        house_load_a=part["load"],
        input_limit_a=setting.sound.charger.input_limit_a,
        solar_w=part["sun_current"] * part["panel"],
        # The gate decides elsewhere; here only the voltage at which the input is held.
        stop_voltage_v=rows.stop_v[:, None],
        ignition_stop_voltage_v=rows.stop_v[:, None],
        vehicle_on=rows.on[:, list(places)],
        unit_dead=rows.dead[:, None],
        shows_absorption=rows.shows[:, None],
        blocks_charging=rows.blocks_charging[:, None],
        blocks_all=rows.blocks_all[:, None],
        charger_negative_open=rows.negative_open[:, None],
    )
