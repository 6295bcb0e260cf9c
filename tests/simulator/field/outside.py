"""Thirteen troubles that no catalogue lists, put into a sound vehicle; all ranges are assumed."""

from collections.abc import Callable, Mapping

import numpy as np

from tests.simulator.field.drawing import log_uniform, one_of, uniform
from tests.simulator.field.faults_put_in import PutIn
from tests.simulator.field.vehicle import RUNS, Contact, Vehicle

Generator = np.random.Generator


def trouble(rng: Generator, vehicle: Vehicle, name: str) -> PutIn:
    """Draw how bad a trouble is on this vehicle."""
    return TROUBLES[name](rng, vehicle)


def _own(name: str, low: float, high: float) -> Callable[[Generator, Vehicle], PutIn]:
    """A trouble that is one number."""

    def drawn(rng: Generator, _: Vehicle) -> PutIn:
        value = uniform(rng, low, high)
        return PutIn({name: value}, severity={"value": value})

    return drawn


def _contact(rng: Generator, _: Vehicle) -> PutIn:
    contact = Contact(
        run=one_of(rng, RUNS),
        ohm=log_uniform(rng, 0.03, 0.3),
        share_of_time=uniform(rng, 0.3, 0.7),
    )
    return PutIn({"outside.contact": contact}, severity={"run": contact.run, "ohm": contact.ohm})


def _holds_high(rng: Generator, vehicle: Vehicle) -> PutIn:
    extra = vehicle.scale * uniform(rng, 1.0, 1.8)
    changes = {"unit.holds_extra_v": extra, "unit.holds_fixed": False}
    return PutIn(changes, severity={"v": extra})


def _clamp(rng: Generator, _: Vehicle) -> PutIn:
    factor = one_of(rng, [uniform(rng, 0.45, 0.7), 0.5])
    return PutIn({"outside.clamp_factor": factor}, severity={"factor": factor})


def _tapped(rng: Generator, vehicle: Vehicle) -> PutIn:
    amps = vehicle.unit.rating_a * uniform(rng, 0.3, 0.75)
    return PutIn({"outside.tapped_a": amps}, severity={"a": amps})


def _hunts(rng: Generator, vehicle: Vehicle) -> PutIn:
    volts = vehicle.scale * uniform(rng, 0.6, 1.2)
    return PutIn({"supply.hunts_v": volts}, severity={"v": volts})


def _chemistry(rng: Generator, vehicle: Vehicle) -> PutIn:
    lithium = vehicle.house.chemistry == "lifepo4"
    said = one_of(rng, ["agm", "flooded"]) if lithium else "lifepo4"
    return PutIn({"house.chemistry_said": said}, severity={"real": vehicle.house.chemistry})


TROUBLES: Mapping[str, Callable[[Generator, Vehicle], PutIn]] = {
    "diode_in_feed": _own("outside.diode_v", 0.4, 0.95),
    "unit_pulses": _own("outside.pulses", 0.3, 0.7),
    "contact_comes_and_goes": _contact,
    "voltmeter_reads_low": _own("outside.voltmeter_factor", 0.86, 0.93),
    "parallel_charge_path": _own("outside.parallel_ohm", 0.006, 0.03),
    "unit_inefficient": _own("unit.efficiency", 0.5, 0.66),
    "wrong_chemistry_entered": _chemistry,
    "return_through_house_side": _own("outside.hidden_return_ohm", 0.001, 0.006),
    "unit_holds_input_high": _holds_high,
    "clamp_reads_part": _clamp,
    "load_on_output_terminal": _tapped,
    "alternator_hunts": _hunts,
    "reverse_charge_stuck": _own("outside.reverse_a", 4, 13),
}
NAMES = tuple(TROUBLES)
