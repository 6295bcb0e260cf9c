"""The two currents of the loop in one state: read, or worked out by power, or what they may be.

output volts x output amps = efficiency x (input volts x input amps + panel's power) - own use
"""

import math
from typing import NamedTuple

from logic.circuit import tables
from logic.limits.known import Known, Worked
from logic.quantities import Ampere, Watt
from logic.vehicle.points import Point, Run, State
from logic.words.figures import amperes

SIGMAS = 2.0


class Flow(NamedTuple):
    """A current: the range where a sound installation's may lie, and the meter's part.

    ``is_known`` where it was read or follows from what was read.
    """

    low: Ampere
    likely: Ampere
    high: Ampere
    meter: Ampere
    is_known: bool

    @property
    def in_amperes(self) -> str:
        """The current in words: in the digits that were read, or the most that it may be."""
        if self.is_known:
            return amperes(self.likely, read=True)
        return f"up to {amperes(self.high)}"


def output_flow(known: Known) -> Flow:
    """Return the current into the house feed, A."""
    if read := known.measured(Point.OUTPUT_CURRENT):
        return _certain(read)
    if known.state is State.REST:
        return Flow(0.0, 0.0, 0.0, 0.0, True)
    drawn = known.measured(Point.INPUT_CURRENT)
    if known.is_running and drawn and not known.has_panel:
        return _certain(_from_input(known, drawn))
    share = most_over_rating()
    likely, high = known.sound.charger.rated_output_a, known.sound.charger.rated_output_a * share
    if not known.is_running:
        watts = panel_power(known)
        volts = known.charging_house_voltage().value
        likely, high = watts.value / volts, (watts.value + SIGMAS * watts.spread) / volts
    return Flow(0.0, likely, high, 0.0, False)


def input_flow(known: Known) -> Flow:
    """Return the current out of the start battery into the vehicle feed, A."""
    if read := known.measured(Point.INPUT_CURRENT):
        return _certain(read)
    if not known.is_running:
        return Flow(0.0, 0.0, 0.0, 0.0, True)
    given = known.measured(Point.OUTPUT_CURRENT)
    if given:
        worked = drawn_for(known, given)
        if not known.has_panel or known.read(Point.SOLAR_CURRENT) is not None:
            return _certain(worked)
        return Flow(0.0, worked.value, worked.value + SIGMAS * worked.spread, 0.0, False)
    unit = known.sound.charger
    full = Worked(unit.rated_output_a * most_over_rating(), 0.0, 0.0, False)
    most = drawn_for(known, full, with_panel=False)
    high = min(most.value + SIGMAS * most.spread, unit.input_limit_a * 1.05)
    return Flow(0.0, high / most_over_rating(), high, 0.0, False)


def drawn_for(known: Known, output: Worked, with_panel: bool = True) -> Worked:
    """Return the current the unit draws from the vehicle to give an output current, A."""
    unit = known.sound.charger
    volts = output_voltage(known, output.value)
    given = max(volts.value * output.value, 0.0)
    needed = (given + unit.own_use_w.mean) / unit.efficiency.mean
    watts = panel_power(known) if with_panel and known.has_panel else _NONE
    at_input = input_voltage(known)
    value = max((needed - watts.value) / at_input.value, 0.0)
    spread = math.hypot(
        needed * unit.efficiency.spread / unit.efficiency.mean,
        unit.own_use_w.spread,
        needed * volts.spread / volts.value,
        watts.spread,
    )
    meter = needed * output.meter / max(output.value, 1.0)
    bend = at_input.spread / at_input.value * value
    return Worked(value, math.hypot(spread / at_input.value, bend), meter / at_input.value, False)


def output_voltage(known: Known, current: Ampere) -> Worked:
    """Return the volts between the charger's output terminal and its negative, V.

    Read; else the house battery's volts and what sound house runs lose on the way there.
    """
    if read := known.live(Point.CHARGER_OUTPUT_VOLTAGE):
        return read
    posts = known.charging_house_voltage()
    runs = [known.sound.run_ohm[run] for run in (Run.HOUSE_FEED, Run.HOUSE_RETURN)]
    lost = max(current, 0.0) * sum(run.mean for run in runs)
    spread = max(current, 0.0) * math.hypot(*(run.mean * run.spread for run in runs))
    return Worked(posts.value + lost, math.hypot(posts.spread, spread), posts.meter, False)


def input_voltage(known: Known) -> Worked:
    """Return the volts between the charger's input terminal and its negative, V.

    Read; else the supply less a sound loop's drop at the rated output.
    """
    if read := known.live(Point.CHARGER_INPUT_VOLTAGE):
        return read
    supply, ohm = known.live_supply(), known.loop_ohm()
    current = 1.2 * known.sound.charger.rated_output_a  # assumed: a fifth more in than out
    drop = min(ohm.value * current, 0.25 * supply.value)
    return Worked(
        supply.value - drop, math.hypot(supply.spread, ohm.spread * current), supply.meter, False
    )


def panel_power(known: Known) -> Worked:
    """Return what the panel gives: read volts by amps, else by the sunlight, else its range, W."""
    amps = known.measured(Point.SOLAR_CURRENT)
    at_panel = known.measured(Point.SOLAR_INPUT_VOLTAGE)
    usual = known.sound.panel
    volts = at_panel.value if at_panel else usual.working_v.mean
    if amps:
        spread = 0.0 if at_panel else amps.value * usual.working_v.spread
        return Worked(abs(amps.value * volts), spread, amps.meter * volts, True)
    light = known.sunlight()
    full: Watt = usual.current_a.mean * usual.working_v.mean
    if light is None:
        return Worked(full / 2, full / 2, 0.0, False)
    by_eye = known.uncertainty(Point.SUNLIGHT_FRACTION, light)
    relative = usual.current_a.spread / max(usual.current_a.mean, 1e-9)
    return Worked(full * light, full * math.hypot(by_eye, light * relative), 0.0, False)


def most_over_rating() -> float:
    """Return the most that a sound unit gives over its rating, as a factor."""
    return tables.number("charger", "usual.rating_over")


_NONE = Worked(0.0, 0.0, 0.0, False)


def _from_input(known: Known, drawn: Worked) -> Worked:
    unit = known.sound.charger
    at_input = input_voltage(known)
    taken = at_input.value * drawn.value
    posts = known.charging_house_voltage()
    volts = output_voltage(known, unit.efficiency.mean * taken / posts.value)
    given = max(unit.efficiency.mean * taken - unit.own_use_w.mean, 0.0)
    spread = math.hypot(
        taken * unit.efficiency.spread,
        unit.own_use_w.spread,
        given * volts.spread / volts.value,
        given * at_input.spread / at_input.value,
    )
    meter = drawn.meter * at_input.value / volts.value
    return Worked(given / volts.value, spread / volts.value, meter, False)


def _certain(worked: Worked) -> Flow:
    reach = SIGMAS * worked.spread
    return Flow(worked.value - reach, worked.value, worked.value + reach, worked.meter, True)
