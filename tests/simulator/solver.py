"""The simulator's own way to settle the loop: bisection on the output current, one state.

Shares nothing with the program's closed forms; slow and plain on purpose.
"""

from dataclasses import dataclass

from tests.simulator.vehicle import Vehicle


@dataclass(frozen=True)
class Point:
    """True values at every point of one state."""

    values: dict[str, float]
    on: bool


def _bisect(works, low: float, high: float) -> float:
    """Largest value between low and high for which ``works`` holds; works(low) is taken true."""
    if works(high):
        return high
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if works(middle) else (low, middle)
    return low


class Loop:
    """One vehicle in one state."""

    def __init__(self, vehicle: Vehicle, state: str) -> None:
        self.v = vehicle
        self.state = state
        self.supply = vehicle.supply_v[state]
        self.signalled = vehicle.signal_v[state] >= vehicle.signal_min_v
        self.load = vehicle.load_rest_a if state == "rest" else vehicle.load_a
        self.sun_a = vehicle.panel_a * vehicle.sun.get(state, 0.0)
        self.on = self._on()
        self.solar_w = self.sun_a * vehicle.panel_working_v
        self.house_ohm = vehicle.run_ohm["house_feed"] + vehicle.run_ohm["house_return"]

    def _on(self) -> bool:
        v = self.v
        if v.negative_off or "vehicle_feed" in v.open_runs or v.dead:
            return False
        if self.state in ("rest", "solar") and not (v.runs_at_rest and self.state == "rest"):
            return False
        threshold = v.signalled_start_v if self.signalled else v.start_v
        # The unit made up its mind on the steady supply, not on the flicker of one reading.
        return v.steady_v.get(self.state, self.supply) >= threshold

    @property
    def works(self) -> bool:
        """Whether anything at all can come out."""
        return not self.v.dead and not self.v.negative_off and (self.on or self.solar_w > 0)

    def battery_v(self, into: float) -> float:
        """House battery posts with a net current into the battery."""
        charging = (
            self.works and "house_feed" not in self.v.open_runs and self.v.blocks == "nothing"
        )
        rise = self.v.house_rise_v if charging else 0.0
        return self.v.house_rest_v + rise + into * self.v.house_ohm

    def terminal_v(self, out: float) -> float:
        """Output terminal voltage for an output current into battery and loads."""
        return self.battery_v(out - self.load) + out * self.house_ohm

    def input_a(self, power: float) -> float | None:
        """Input current for an input power, by bisection; None where the source cannot give it."""
        loop = self.v.run_ohm["vehicle_feed"] + self.v.run_ohm["vehicle_return"]
        best = self.supply / (2 * loop)
        if (self.supply - loop * best) * best < power:
            return None
        return _bisect(lambda amps: (self.supply - loop * amps) * amps <= power, 0.0, best)

    def feeds(self, out: float, terminal: float) -> bool:
        """Whether panel and vehicle can feed this output."""
        need = (out * terminal + self.v.own_use_w) / self.v.efficiency - self.solar_w
        if need <= 0:
            return True
        if not self.on:
            return False
        amps = self.input_a(need)
        if amps is None or amps > self.v.input_limit_a:
            return False
        loop = self.v.run_ohm["vehicle_feed"] + self.v.run_ohm["vehicle_return"]
        stop = self.v.signalled_stop_v if self.signalled else self.v.stop_v
        return self.supply - loop * amps >= stop or amps < 1e-6

    def output(self) -> tuple[float, float, float]:
        """Output current, output terminal voltage, house battery posts."""
        v = self.v
        if "house_feed" in v.open_runs or v.blocks != "nothing":
            return self._nothing_takes_charge()
        if not self.works:
            posts = self.battery_v(-self.load)
            return 0.0, posts, posts
        if v.tail_a is not None:
            return self._nearly_full()
        most = v.rating_a * v.output_share
        out = _bisect(
            lambda amps: (
                self.terminal_v(amps) <= v.limit_v and self.feeds(amps, self.terminal_v(amps))
            ),
            0.0,
            most,
        )
        return out, self.terminal_v(out), self.battery_v(out - self.load)

    def _nearly_full(self) -> tuple[float, float, float]:
        v = self.v
        wanted = min(v.tail_a + self.load, v.rating_a * v.output_share)
        out = _bisect(lambda amps: self.feeds(amps, v.limit_v), 0.0, wanted)
        short = max(0.0, self.load - out)
        posts = v.limit_v - out * self.house_ohm
        if short > 0:
            posts = min(posts, v.house_rest_v - short * v.house_ohm)
        return out, posts + out * self.house_ohm, posts

    def _nothing_takes_charge(self) -> tuple[float, float, float]:
        v = self.v
        shown = v.limit_v if self.works and v.shows_absorption else 0.0
        alone = 0.0 if v.blocks == "all" else v.house_rest_v - self.load * v.house_ohm
        if "house_feed" in v.open_runs:
            return 0.0, shown, alone
        if not shown:
            return 0.0, alone, alone
        out = _bisect(
            lambda amps: self.feeds(amps, shown), 0.0, min(self.load, v.rating_a * v.output_share)
        )
        if v.blocks == "charging" and self.load - out > 1e-3:
            posts = v.house_rest_v - (self.load - out) * v.house_ohm
            return out, posts + out * self.house_ohm, posts
        return out, shown, shown - out * self.house_ohm


def settle(vehicle: Vehicle, state: str) -> Point:
    """Return every point's true value in one state."""
    loop = Loop(vehicle, state)
    out, terminal, posts = loop.output()
    need = (out * terminal + vehicle.own_use_w) / vehicle.efficiency if loop.works else 0.0
    solar = min(loop.solar_w, need)
    drawn = (loop.input_a(max(0.0, need - solar)) or 0.0) if loop.on else 0.0
    values = _vehicle_side(loop, drawn) | _house_side(loop, out, terminal, posts)
    values |= _rest(loop, drawn, out, solar)
    if vehicle.negative_off:
        values |= _floating(loop, posts)
    return Point(values, loop.on)


def _vehicle_side(loop: Loop, drawn: float) -> dict[str, float]:
    ohm = loop.v.run_ohm
    feed, back = drawn * ohm["vehicle_feed"], drawn * ohm["vehicle_return"]
    if "vehicle_feed" in loop.v.open_runs:
        feed = loop.supply
    return {
        "start_battery_voltage": loop.supply,
        "vehicle_feed_drop": feed,
        "vehicle_return_drop": back,
        "charger_input_voltage": loop.supply - feed - back,
    }


def _house_side(loop: Loop, out: float, terminal: float, posts: float) -> dict[str, float]:
    ohm = loop.v.run_ohm
    feed, back = out * ohm["house_feed"], out * ohm["house_return"]
    if "house_feed" in loop.v.open_runs:
        feed = terminal - posts
    return {
        "charger_output_voltage": terminal,
        "house_feed_drop": feed,
        "house_return_drop": back,
        "house_battery_voltage": posts,
    }


def _rest(loop: Loop, drawn: float, out: float, solar: float) -> dict[str, float]:
    v = loop.v
    used = solar / loop.solar_w if loop.solar_w > 0 else 0.0
    plugged = v.panel_plugged_v
    if plugged is None:
        plugged = used * v.panel_working_v + (1 - used) * v.panel_open_v
    signal = v.signal_v[loop.state]
    if signal > 1.0:
        signal -= drawn * v.run_ohm["vehicle_return"]
    return {
        "ignition_signal_voltage": signal,
        "input_current": drawn,
        "output_current": out,
        "house_load_current": loop.load,
        "solar_current": solar / v.panel_working_v,
        "solar_open_circuit_voltage": v.panel_open_v,
        "solar_input_voltage": plugged,
        "charger_case_temperature": v.case_c if out > 1 else v.idle_case_c,
        "house_battery_temperature": v.house_c,
        "profile_setting_voltage": v.profile_v,
        "input_limit_setting": v.input_limit_a,
        "tow_socket_voltage": 0.0,
        "sunlight_fraction": v.sun.get(loop.state, 0.0),
        "charging_indicator": float(out > 0.5),
        "fault_indicator": float(v.lamp_fault),
    }


def _floating(loop: Loop, posts: float) -> dict[str, float]:
    lifted = loop.v.floats_at * loop.supply
    signal = loop.v.signal_v[loop.state]
    return {
        "vehicle_feed_drop": 0.0,
        "vehicle_return_drop": lifted,
        "charger_input_voltage": loop.supply - lifted,
        "charger_output_voltage": posts - lifted,
        "house_feed_drop": 0.0,
        "house_return_drop": -lifted,
        "ignition_signal_voltage": signal - lifted if signal > 1 else 0.0,
    }
