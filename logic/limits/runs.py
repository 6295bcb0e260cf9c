"""Drops along the runs, and what they leave at the charger's input.

A run's drop is its resistance times the current that flows now, not at full load. Its
resistance is a sound run's of this length, area, joints and fuse; or the one that was measured
when this vehicle was commissioned.
"""

import math
from dataclasses import dataclass

from logic.circuit import tables
from logic.circuit.copper import resistance_per_metre
from logic.limits.expected import Expectation
from logic.limits.flows import SIGMAS, input_flow, output_flow
from logic.limits.known import Known
from logic.quantities import Ampere, Ohm
from logic.vehicle.assumed import (
    DRIFT_V,
    JOINT_AGEING,
    PROBE_CONTACT_V,
    QUOTIENT_CURRENT_A,
    telling_current,
)
from logic.vehicle.installation import CableRun
from logic.vehicle.points import CURRENT_THROUGH, DROP_ACROSS, Point, Run, State
from logic.words.figures import amperes, as_stated, drop_volts, milliohms, volt_range

_NO_CURRENT_V = 0.03  # assumed: what a drop may show with no current to speak of, at 12 V
_REMADE_OHM = 0.0003  # assumed: what undoing and remaking a joint may add
_VEHICLE_SIDE = Point.INPUT_CURRENT.carried_by


@dataclass(frozen=True)
class SoundRun:
    """What a run's resistance should be, with the words that lead to the most it may be."""

    ohm: Ohm
    least: Ohm
    most: Ohm
    words: str
    meter: Ohm = 0.0  # the meter's part in what commissioning measured


def vehicle_feed_drop(known: Known) -> Expectation:
    """Start battery positive to charger input."""
    return _drop(known, Run.VEHICLE_FEED)


def vehicle_return_drop(known: Known) -> Expectation:
    """Charger negative to start battery negative."""
    return _drop(known, Run.VEHICLE_RETURN)


def house_feed_drop(known: Known) -> Expectation:
    """Charger output to house battery positive."""
    return _drop(known, Run.HOUSE_FEED)


def house_return_drop(known: Known) -> Expectation:
    """House battery negative to charger negative."""
    return _drop(known, Run.HOUSE_RETURN)


def charger_input_voltage(known: Known) -> Expectation:
    """Supply less what the two vehicle runs lose at the current that flows."""
    supply, flow = known.supply(), input_flow(known)
    feed, back = sound_run(known, Run.VEHICLE_FEED), sound_run(known, Run.VEHICLE_RETURN)
    least = max(flow.low, 0.0) * (feed.least + back.least)
    most = max(flow.high, 0.0) * (feed.most + back.most)
    reach = SIGMAS * supply.spread + DRIFT_V * known.scale
    low, high = supply.value - reach - most, supply.value + reach - least
    origin = "read at the start battery" if supply.is_read else "that a sound vehicle supplies"
    why = f"{supply.in_volts} {origin}"
    if flow.high > 0.5:
        lost = flow.likely * (feed.ohm + back.ohm)
        why += (
            f", less about {drop_volts(lost)} that feed and return "
            f"({milliohms(feed.ohm + back.ohm)}) lose at {flow.in_amperes}"
        )
    else:
        why += ", with nothing lost on the way while no current flows"
    why += f", leaves {volt_range(low, high)}"
    meter = math.hypot(
        flow.meter * (feed.most + back.most), flow.high * math.hypot(feed.meter, back.meter)
    )
    reference = supply.value if supply.is_read else None
    return Expectation(
        low, high, why, inherited=meter, reference=reference, under=_MISSING, over=_HIGHER
    )


def sound_run(known: Known, run: Run) -> SoundRun:
    """Return what a run's resistance should be, by commissioning or by its description."""
    usual, cable = known.sound.run_ohm[run], getattr(known.installation.runs, run.value)
    most = usual.mean * math.exp(SIGMAS * usual.spread)
    words = f"this run should be about {milliohms(usual.mean)}, at most"
    ohm, least = usual.mean, _copper_alone(cable) / 2
    earlier = _commissioned(known, run)
    if earlier is not None:
        ohm, meter = earlier
        words = f"at commissioning this run was {milliohms(ohm)}, and today it should be at most"
        aged = ohm * math.exp(SIGMAS * JOINT_AGEING) + _REMADE_OHM
        most = min(aged, max(most, _permitted(known, run)))
        return SoundRun(ohm, min(least, 0.5 * ohm), most, words, meter)
    if not _is_described(cable):
        # Practice decides where it is stricter than not knowing, but not under a usual run.
        permitted, usual_high = _permitted(known, run), ohm * math.exp(usual.spread)
        most = min(most, max(permitted, usual_high))
        if most == permitted:
            words = (
                f"this run should be about {milliohms(ohm)}; {_limit_words(known, run)}: at most"
            )
    return SoundRun(ohm, min(least, 0.5 * ohm), most, words)


def _drop(known: Known, run: Run) -> Expectation:
    flow = input_flow(known) if run in _VEHICLE_SIDE else output_flow(known)
    sound = sound_run(known, run)
    contact = PROBE_CONTACT_V * known.scale
    low = sound.least * max(flow.low, 0.0) - contact
    high = sound.most * max(flow.high, 0.0) + contact
    inherited = math.hypot(sound.most * flow.meter, sound.meter * flow.high)
    if flow.is_known and abs(flow.likely) < telling_current(known.sound.charger.rated_output_a):
        low, high = low - _NO_CURRENT_V * known.scale, high + _NO_CURRENT_V * known.scale
        why = (
            f"hardly any current flows ({flow.in_amperes}), so hardly anything should be "
            "lost, and a bad joint would not show either"
        )
        return Expectation(low, high, why, inherited=inherited, under=_PARTED, over=_PARTED)
    limit = f"{milliohms(sound.most)}, {drop_volts(high)} at {flow.in_amperes}"
    if not flow.is_known:
        why = f"no current was read: {sound.words} {limit} if the unit gives all it can"
        return Expectation(-contact, high, why, inherited=inherited)
    why = f"{sound.words} {limit}"
    return Expectation(low, high, why, flow.likely, inherited, under=_TOO_SMALL)


_PARTED = "volts across a run that carries no current: it is open, or the clamp is not on it"
_HIGHER = "it cannot be over its supply: read both again, at the same engine speed"
_TOO_SMALL = "too little for this current: check both probes, and that the clamp is on this run"
_MISSING = (
    "what is missing is lost in the vehicle feed or return, or one of them is open: read both drops"
)


def _is_described(cable: CableRun) -> bool:
    return None not in (cable.length_m, cable.area_mm2)


def _copper_alone(cable: CableRun) -> Ohm:
    if cable.length_m is None or cable.area_mm2 is None:
        return 0.0
    return cable.length_m * resistance_per_metre(cable.area_mm2, 0.0)


def _commissioned(known: Known, run: Run) -> tuple[Ohm, float] | None:
    """Return the resistance measured at commissioning and the meter's part in it, Ω."""
    across, clamp = DROP_ACROSS[run], CURRENT_THROUGH[run]
    for state in dict.fromkeys((known.state, State.FAST_IDLE, State.IDLE, State.SOLAR)):
        drop = known.baseline.get((across, state))
        current = known.baseline.get((clamp, state))
        if drop is None or current is None or current < QUOTIENT_CURRENT_A or drop <= 0:
            continue
        share = math.hypot(
            known.uncertainty(across, drop) / drop, known.uncertainty(clamp, current) / current
        )
        return drop / current, drop / current * share
    return None


def _full_load_current(known: Known, run: Run) -> Ampere:
    unit = known.sound.charger
    if run not in _VEHICLE_SIDE:
        return unit.rated_output_a
    usual = tables.number("supply", "generator.nominal") * known.scale
    return min(
        unit.rated_output_a * unit.absorption_v / unit.efficiency.mean / usual, unit.input_limit_a
    )


def _permitted(known: Known, run: Run) -> Ohm:
    return _permitted_volts(known, run) / _full_load_current(known, run)


def _permitted_volts(known: Known, run: Run) -> float:
    if run in (Run.VEHICLE_FEED, Run.HOUSE_FEED):
        return tables.number("conductors", "drop_limit.charging_cable") * known.scale
    cable = tables.number("conductors", "drop_limit.return_cable")
    return (cable + 2 * tables.number("conductors", "drop_limit.joint")) * known.scale


def _limit_words(known: Known, run: Run) -> str:
    allowed = as_stated(_permitted_volts(known, run), "V")
    full = amperes(_full_load_current(known, run))
    practice = "handbook limit for a charging cable" if "feed" in run else _RETURN_LIMIT
    return f"its details are not all known, so the {practice} decides, {allowed} at {full}"


_RETURN_LIMIT = "service limit for a cable and its two joints"
