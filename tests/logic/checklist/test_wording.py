"""The same steps in other words, where the installation asks for them."""

import pytest

from logic.checklist import run
from logic.checklist.conditions import Facts
from logic.checklist.depth import Depth
from logic.checklist.form import load
from logic.vehicle.installation import (
    Alternator,
    Charger,
    Control,
    HouseBattery,
    Installation,
    StartBattery,
)
from logic.vehicle.points import State
from tests.paths import CHECKLISTS

LIBRARY = load(CHECKLISTS)
WALK = LIBRARY.checklists["commissioning"]
BASE = Installation(
    charger=Charger(rated_output_current_a=25), house_battery=HouseBattery(chemistry="agm")
)


def with_supply(control):
    return BASE.model_copy(update={"alternator": Alternator(control=control)})


HYBRID = with_supply(Control.CONVERTER)


def asked(installation, depth=Depth.FULL):
    worded = WALK.in_words_for(installation)
    return run.applicable_steps(worded, Facts(installation, depth=depth))


def test_a_vehicle_without_an_engine_to_idle_is_asked_in_its_own_words():
    for step in asked(HYBRID):
        told = f"{step.title} {step.teaches} {step.wait_for} {step.second_person}".lower()
        assert "idle" not in told, step.id
        assert "rpm" not in told, step.id
        assert "start the engine" not in told, step.id
        assert step.state is not State.FAST_IDLE


def test_stages_have_their_words_too():
    titles = {stage.id: stage.title for stage in WALK.in_words_for(HYBRID).stages}
    assert titles["engine_idle"] == "Vehicle ready"


@pytest.mark.parametrize("control", [Control.FIXED, Control.VARIABLE, Control.UNKNOWN])
def test_an_alternators_walk_is_as_written(control):
    assert WALK.in_words_for(with_supply(control)) is WALK


def test_other_words_are_the_same_steps_and_the_same_checklist():
    worded = WALK.in_words_for(HYBRID)
    assert worded is WALK.in_words_for(HYBRID)  # screens tell stages by identity
    assert worded.sha256 == WALK.sha256
    assert [step.id for step in worded.steps] == [step.id for step in WALK.steps]
    assert [step.ask.kind for step in worded.steps] == [step.ask.kind for step in WALK.steps]


@pytest.mark.parametrize(
    ("changes", "more"),
    [
        ({"alternator": Alternator(control=Control.CONVERTER)}, {"stays_on_low_voltage_side"}),
        (
            {"start_battery": StartBattery(chemistry="flooded", second="series")},
            {"fed_across_both_in_series", "rest_first_series_voltage"},
        ),
        (
            {"start_battery": StartBattery(chemistry="flooded", second="parallel")},
            {"fed_from_main_of_two"},
        ),
        ({"output_nominal_voltage_v": 24}, {"sides_by_voltage"}),
    ],
)
def test_only_what_is_fitted_makes_the_walk_longer(changes, more):
    plain = BASE.model_copy(
        update={
            "alternator": Alternator(control=Control.FIXED),
            "start_battery": StartBattery(chemistry="flooded"),
        }
    )
    before = {step.id for step in asked(plain, Depth.STANDARD)}
    after = {step.id for step in asked(plain.model_copy(update=changes), Depth.STANDARD)}
    assert after - before == more
    if "alternator" not in changes:
        assert before <= after


def test_the_high_voltage_cautions_are_shown_where_such_a_vehicle_is():
    ids = [one for step in asked(HYBRID) for one in step.cautions]
    shown = {one.id for one in run.cautions(LIBRARY, ids, Facts(HYBRID))}
    assert {"high_voltage_vehicle", "forty_eight_volts", "ready_is_silent"} <= shown
    plain = with_supply(Control.FIXED)
    ids = [one for step in asked(plain) for one in step.cautions]
    shown = {one.id for one in run.cautions(LIBRARY, ids, Facts(plain))}
    assert not {"forty_eight_volts", "ready_is_silent"} & shown
