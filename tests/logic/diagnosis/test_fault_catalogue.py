"""The catalogue's form, and what it says for every fault."""

from importlib.resources import files

import pytest

from logic.case import FaultId
from logic.diagnosis import catalogue
from logic.diagnosis.hypotheses import single_hypotheses
from logic.diagnosis.next_reading import costs, read_costs
from logic.errors import DataFileError
from logic.vehicle.installation import Installation

TEXT = files("logic.diagnosis").joinpath("faults.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize("fault_id", list(FaultId))
def test_every_fault_says_what_to_do_and_what_to_tell(fault_id: FaultId) -> None:
    entry = catalogue.fault(fault_id)
    assert entry.remedy
    assert entry.customer.endswith(".")
    assert entry.title[0].isupper()
    assert entry.source
    assert fault_id is FaultId.NO_FAULT or catalogue.proof_readings(fault_id)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('id = "solar_open"', 'id = "solar_closed"', "id"),
        ('responsibility = "vehicle"', 'responsibility = "nobody"', "responsibility"),
        ('unknown = "case_c"', 'unknown = "mood"', "no unknown called 'mood'"),
        ("shift = -0.6, spread", "shift = -0.6, times = 2.0, spread", "exactly one of"),
        ('id = "solar_open"', 'id = "solar_reversed"', "exactly once"),
        ("[[fault]]", "[[fault]", "Correct the line"),
    ],
)
def test_a_mistake_in_the_catalogue_is_named(old: str, new: str, words: str) -> None:
    with pytest.raises(DataFileError, match=r"faults\.toml") as caught:
        catalogue.read(TEXT.replace(old, new, 1))
    assert words in str(caught.value)


def test_a_new_way_of_a_known_kind_is_one_data_entry() -> None:
    change = '{ unknown = "panel_share", to = 0.4, spread = 0.5 }'
    more = f"{TEXT}\n[[fault.way]]\nweight = 0.1\nchange = [{change}]\n"
    assert len(catalogue.read(more).fault[-1].way) == len(catalogue.read(TEXT).fault[-1].way) + 1


def test_half_the_unwired_alternators_need_a_signal_when_nobody_looked() -> None:
    bare = {"charger": {"rated_output_current_a": 25}, "house_battery": {"chemistry": "gel"}}
    fixed = single_hypotheses(
        Installation.model_validate({**bare, "alternator": {"control": "fixed"}})
    )
    unknown = single_hypotheses(Installation.model_validate(bare))
    missing = (FaultId.IGNITION_SIGNAL_MISSING,)
    assert missing not in fixed.faults
    assert missing in unknown.faults


@pytest.mark.parametrize(
    ("text", "words"),
    [("[point]", "no minutes given"), ("[point", "Correct"), ("point = 1", "Correct")],
)
def test_a_mistake_in_the_costs_is_named(text: str, words: str) -> None:
    with pytest.raises(DataFileError, match=words):
        read_costs(text)


def test_going_back_to_rest_costs_the_five_minutes_it_takes() -> None:
    place = ("house_battery_voltage", "rest")
    table = costs()
    first = table.minutes(_place(*place), [])
    back = table.minutes(_place(*place), [_place("input_current", "idle")])
    assert back - first >= 5


def _place(point: str, state: str) -> tuple:
    from logic.vehicle.points import Point, State

    return Point(point), State(state)
