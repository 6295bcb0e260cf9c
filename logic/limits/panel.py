"""The panel's volts unplugged and connected, and its current, by the sunlight."""

from logic.circuit import panels
from logic.circuit.batteries import rest_voltage
from logic.limits.expected import Expectation
from logic.limits.flows import SIGMAS
from logic.limits.known import Known
from logic.vehicle.assumed import NEAR_PROFILE_V, NEARLY_FULL
from logic.vehicle.points import Point, State
from logic.words.figures import ampere_range, amperes, as_read, as_stated, volt_range, volts

_DULL = 0.1
_SLACK_A = 0.1  # assumed: what a panel's current wanders by while it is read
_LOW_OPEN = (
    "a minus means that the panel's leads are reversed, next to nothing that one is open: leave it "
    "unplugged"
)
_WEAK = "look for shade, dirt, a poor plug or a damaged panel"
_NO_PANEL = "no panel is described, so there is nothing to hold this against"


def solar_open_circuit_voltage(known: Known) -> Expectation:
    """Plate voltage, warm cells, down to dull light; below zero the leads are reversed."""
    if not known.has_panel:
        return Expectation(None, None, _NO_PANEL)
    usual, light = known.sound.panel.open_circuit_v, known.sunlight()
    dimmed = panels.light_factor(light if light is not None else _DULL)
    # In weak light the cells are cool: the plate's voltage and more are possible.
    plate = panels.plate_open_circuit(known.installation.solar, known.scale)
    low = usual.mean * dimmed - SIGMAS * usual.spread
    high = max(plate, usual.mean) + SIGMAS * usual.spread
    solar = known.installation.solar
    is_read = solar is not None and solar.open_circuit_voltage_v is not None
    plate_words = "on the panel's plate" if is_read else "of a usual panel, this one's not known,"
    band = volt_range(low, high)
    why = f"{as_stated(plate, 'V')} {plate_words} makes {band} in this light, warm or cold"
    return Expectation(low, high, why, under=_LOW_OPEN)


def solar_input_voltage(known: Known) -> Expectation:
    """Between the panel's working voltage and its open-circuit voltage."""
    if not known.has_panel:
        return Expectation(None, None, _NO_PANEL)
    usual = known.sound.panel
    light = known.sunlight()
    dimmed = panels.light_factor(light if light is not None else _DULL)
    plate = panels.plate_open_circuit(known.installation.solar, known.scale)
    low = usual.working_v.mean * dimmed - SIGMAS * usual.working_v.spread
    high = max(plate, usual.open_circuit_v.mean) + SIGMAS * usual.open_circuit_v.spread
    why = (
        f"connected, the panel should stand between its working {volts(usual.working_v.mean)} and "
        f"its open-circuit {volts(usual.open_circuit_v.mean)}, {volt_range(low, high)} in all"
    )
    return Expectation(low, high, why)


def solar_current(known: Known) -> Expectation:
    """Plate current times sunlight; less where the battery is nearly full."""
    if not known.has_panel:
        return Expectation(None, None, _NO_PANEL)
    usual, light = known.sound.panel.current_a, known.sunlight()
    if known.state is State.REST and light is None:
        return Expectation(None, None, "the sunlight was not judged, so any current may be right")
    slack = _SLACK_A
    if light is None:
        high = usual.mean + SIGMAS * usual.spread + slack
        why = f"full sun makes up to {amperes(high)}; judge the sunlight to tell how much is due"
        return Expectation(-slack, high, why)
    by_eye = SIGMAS * known.uncertainty(Point.SUNLIGHT_FRACTION, light) / max(light, 1e-9)
    relative = SIGMAS * usual.spread / max(usual.mean, 1e-9)
    reach = (by_eye**2 + relative**2) ** 0.5
    low = usual.mean * light * max(1 - reach, 0.0) - slack
    high = usual.mean * light * (1 + reach) + slack
    sun = as_read(Point.SUNLIGHT_FRACTION, light)
    why = f"{sun} on this panel makes about {amperes(usual.mean * light)}"
    if _is_pulled_down(known):
        why += ", all of it taken, for the unit pulls its volts down"
    elif _stops_early(known):
        low = -slack
        why += ", and less is right while the battery is nearly full"
    why += f": {ampere_range(max(low, 0.0), high)}, the light being judged by eye"
    return Expectation(low, high, why, under=_WEAK)


def _is_pulled_down(known: Known) -> bool:
    """Whether the connected panel stands nearer its working than its open-circuit volts.

    A unit that has no use for more lets the panel rise; one that pulls it down takes all.
    """
    connected = known.read(Point.SOLAR_INPUT_VOLTAGE)
    usual = known.sound.panel
    unplugged = known.read(Point.SOLAR_OPEN_CIRCUIT_VOLTAGE) or usual.open_circuit_v.mean
    return connected is not None and 0 < connected < (usual.working_v.mean + unplugged) / 2


def _stops_early(known: Known) -> bool:
    """Whether any reading says that the battery is nearly full."""
    unit, scale = known.sound.charger, known.scale
    charged = min(unit.absorption_v - NEAR_PROFILE_V * scale, unit.float_v + 0.1 * scale)
    levels = {
        State.REST: rest_voltage(known.installation.house_battery.chemistry, NEARLY_FULL, scale)
    }
    house = {state: known.read(Point.HOUSE_BATTERY_VOLTAGE, state) for state in State}
    return any(
        volts >= levels.get(state, charged) for state, volts in house.items() if volts is not None
    )
