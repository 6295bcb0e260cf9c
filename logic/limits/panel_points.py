"""What the panel's points should show, by its plate and the sunlight."""

import math
from collections.abc import Callable, Mapping

from logic.circuit import panels
from logic.limits.expectation import Expectation
from logic.limits.loop_state import SIGMAS, LoopState
from logic.vehicle.assumed import NEAR_PROFILE_V
from logic.vehicle.points import Point, State
from logic.words.figures import ampere_range, amperes, as_read, as_stated, volt_range, volts

_DULL = 0.1  # of full sun: what the light is at least, where it was not judged
_SLACK_A = 0.1  # assumed: what a panel's current varies by while it is read
_OVER_FLOAT_V = 0.1  # assumed: a battery so far over its float voltage is nearly full, at 12 V
_NO_PANEL = "no panel is described, so there is nothing to hold this against"


def solar_open_circuit_voltage(loop: LoopState) -> Expectation:
    """Plate voltage, warm cells, down to dull light; below zero the leads are reversed."""
    solar = loop.installation.solar
    if solar is None:
        return Expectation(why=_NO_PANEL)
    usual = loop.sound.panel.open_circuit_v
    # In weak light the cells are cool: the plate's voltage and more are possible.
    plate = panels.plate_open_circuit(solar, loop.house_scale)
    low = usual.mean * _dimmed(loop) - SIGMAS * usual.spread
    high = max(plate, usual.mean) + SIGMAS * usual.spread
    origin = "on the panel's plate"
    if solar.open_circuit_voltage_v is None:
        origin = "of a usual panel, this one's not known,"
    return Expectation(
        low=low,
        high=high,
        why=f"{as_stated(plate, 'V')} {origin} makes {volt_range(low, high)} in this light, warm "
        "or cold",
        under="a minus means that the panel's leads are reversed, next to nothing that one is "
        "open: leave it unplugged",
    )


def solar_input_voltage(loop: LoopState) -> Expectation:
    """Between the panel's working voltage and its open-circuit voltage."""
    if not loop.has_panel:
        return Expectation(why=_NO_PANEL)
    working, unplugged = loop.sound.panel.working_v, loop.sound.panel.open_circuit_v
    plate = panels.plate_open_circuit(loop.installation.solar, loop.house_scale)
    low = working.mean * _dimmed(loop) - SIGMAS * working.spread
    high = max(plate, unplugged.mean) + SIGMAS * unplugged.spread
    why = (
        f"connected, the panel should stand between its working {volts(working.mean)} and its "
        f"open-circuit {volts(unplugged.mean)}, {volt_range(low, high)} in all"
    )
    return Expectation(low=low, high=high, why=why)


def solar_current(loop: LoopState) -> Expectation:
    """Plate current times sunlight; less where the battery is nearly full."""
    if not loop.has_panel:
        return Expectation(why=_NO_PANEL)
    full, light = loop.sound.panel.current_a, loop.sunlight()
    if light is None and loop.state is State.REST:
        return Expectation(why="the sunlight was not judged, so any current may be right")
    if light is None:
        high = full.mean + SIGMAS * full.spread + _SLACK_A
        why = f"full sun makes up to {amperes(high)}; judge the sunlight to tell how much is due"
        return Expectation(low=-_SLACK_A, high=high, why=why)
    by_eye = loop.uncertainty(Point.SUNLIGHT_FRACTION, light) / max(light, 1e-9)
    reach = SIGMAS * math.hypot(by_eye, full.spread / max(full.mean, 1e-9))
    due = full.mean * light
    low, high = due * max(1 - reach, 0.0) - _SLACK_A, due * (1 + reach) + _SLACK_A
    why = f"{as_read(Point.SUNLIGHT_FRACTION, light)} on this panel makes about {amperes(due)}"
    if _is_pulled_down(loop):
        why += ", all of it taken, for the unit pulls its volts down"
    elif _stops_early(loop):
        low = -_SLACK_A
        why += ", and less is right while the battery is nearly full"
    elif must_step_up := _must_step_up(loop):
        low = -_SLACK_A
        why += f", and none is right {must_step_up}"
    return Expectation(
        low=low,
        high=high,
        why=f"{why}: {ampere_range(max(low, 0.0), high)}, the light being judged by eye",
        under="look for shade, dirt, a poor plug or a damaged panel",
    )


def sunlight_fraction(_loop: LoopState) -> Expectation:
    """Judged by eye: nothing to hold it against."""
    return Expectation(why="judged by eye: 1 clear noon, 0.5 hazy or low sun, 0.1 dull")


def _dimmed(loop: LoopState) -> float:
    light = loop.sunlight()
    return panels.light_factor(_DULL if light is None else light)


def _is_pulled_down(loop: LoopState) -> bool:
    """Whether the connected panel stands nearer its working than its open-circuit volts.

    A unit that has no use for more lets the panel rise; one that pulls it down takes all.
    """
    connected = loop.read(Point.SOLAR_INPUT_VOLTAGE)
    usual = loop.sound.panel
    unplugged = loop.read(Point.SOLAR_OPEN_CIRCUIT_VOLTAGE) or usual.open_circuit_v.mean
    return connected is not None and 0 < connected < (usual.working_v.mean + unplugged) / 2


def _must_step_up(loop: LoopState) -> str:
    """Say that the panel's volts must be stepped up to charge the house battery, "" if not."""
    working, charging = loop.sound.panel.working_v, loop.charging_house_voltage()
    if working.mean + SIGMAS * working.spread >= charging.value:
        return ""
    return (
        f"where the unit does not step up: the panel works at about {volts(working.mean)}, "
        f"charging takes {volts(charging.value)}"
    )


def _stops_early(loop: LoopState) -> bool:
    """Whether any reading while charging says that the battery is nearly full."""
    unit, scale = loop.sound.charger, loop.house_scale
    charged = min(unit.absorption_v - NEAR_PROFILE_V * scale, unit.float_v + _OVER_FLOAT_V * scale)
    charging = (state for state in State if state is not State.REST)
    house = (loop.read(Point.HOUSE_BATTERY_VOLTAGE, state) for state in charging)
    return any(read is not None and read >= charged for read in house)


EXPECTED: Mapping[Point, Callable[[LoopState], Expectation]] = {
    Point.SOLAR_OPEN_CIRCUIT_VOLTAGE: solar_open_circuit_voltage,
    Point.SOLAR_INPUT_VOLTAGE: solar_input_voltage,
    Point.SOLAR_CURRENT: solar_current,
    Point.SUNLIGHT_FRACTION: sunlight_fraction,
}
"""What each point of this module should show, by point."""
