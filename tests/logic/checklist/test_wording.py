"""The same steps in other words, where the installation asks for them."""

import re

import pytest

from logic.checklist import run
from logic.checklist.conditions import Facts
from logic.checklist.depth import Depth
from logic.checklist.form import load
from logic.circuit.design import design_checks
from logic.vehicle.installation import (
    Alternator,
    Charger,
    Control,
    Fitted,
    HouseBattery,
    Installation,
    StartBattery,
)
from logic.vehicle.points import LOOP, Lead, Post, State
from tests.paths import CHECKLISTS

LIBRARY = load(CHECKLISTS)
WALK = LIBRARY.checklists["commissioning"]
# What a vehicle with a DC-DC supply of its own has not. A hybrid's engine is one all the same, and
# the engine bay is a place.
OF_AN_ENGINE = re.compile(
    r"(?<!hybrid's )\b(engines?(?! bay)|alternators?|idl(e|es|ing)|rpm|crank(s|ing)?)\b", re.I
)
# Cautions that name both kinds of vehicle in one sentence.
OF_BOTH = {"battery_stays_connected", "exhaust_outside"}
BASE = Installation(
    charger=Charger(rated_output_current_a=25), house_battery=HouseBattery(chemistry="agm")
)


def with_supply(control):
    return BASE.model_copy(update={"alternator": Alternator(control=control)})


HYBRID = with_supply(Control.CONVERTER)


def with_everything(control, start="parallel", location="engine_bay"):
    """An installation to which hardly a step does not apply."""
    return Installation.model_validate(
        {
            "alternator": {"control": control, "rated_current_a": 100},
            "start_battery": {"chemistry": "agm", "second": start, "sensor_on_negative": True},
            "charger": {"rated_output_current_a": 40, "input_current_limit_a": 20},
            "house_battery": {"chemistry": "lifepo4", "capacity_ah": 200, "in_parallel": 2},
            "output_nominal_voltage_v": 24,
            "location": location,
            "solar": {"rated_power_w": 200},
            "trailer": {"socket_dead_unhitched": False},
            "fitted": {
                "second_charger_rated_output_current_a": 30,
                "temperature_sensor": True,
                "reverse_charge": True,
                "battery_monitor": True,
                "existing_wiring": True,
                "vehicle_isolator": True,
                "house_isolator": True,
                "solar_regulator": True,
                "mains_charger": True,
            },
        }
    )


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


def rendered(checklist, installation):
    """Every text of a checklist's steps, looks, stages and cautions, with where it stands."""
    facts, cautions = Facts(installation, depth=Depth.FULL), list[str]()
    for stage in checklist.in_words_for(installation).stages:
        steps = [one for one in stage.steps if not one.when or one.when.holds(facts) is not False]
        steps = [one for one in steps if one.state is not State.FAST_IDLE]
        if not steps:
            continue
        yield f"stage {stage.id}", f"{stage.title} {stage.intro}"
        yield from ((f"look {one.id}", f"{one.title} {one.how}") for one in stage.looks)
        cautions += stage.cautions
        for step in steps:
            told = [step.title, step.why, step.how, step.teaches, step.wait_for, step.second_person]
            told += [getattr(step.ask, "question", ""), getattr(step.ask, "prompt", "")]
            told += [one.text for one in getattr(step.ask, "choices", ())]
            yield step.id, " / ".join(told)
            cautions += step.cautions
    for one in run.cautions(LIBRARY, cautions, facts):
        if one.id not in OF_BOTH:
            yield f"caution {one.id}", f"{one.title} {one.text}"


@pytest.mark.parametrize("start", ["parallel", "series"])
@pytest.mark.parametrize("location", ["engine_bay", "trailer"])
@pytest.mark.parametrize("checklist", LIBRARY.checklists.values(), ids=lambda one: one.id)
def test_nothing_speaks_of_an_engine_where_a_converter_supplies(checklist, location, start):
    everything = list(rendered(checklist, with_everything("converter", start, location)))
    assert [(where, text) for where, text in everything if OF_AN_ENGINE.search(text)] == []


def test_the_walk_speaks_of_an_engine_where_there_is_one():
    assert any(OF_AN_ENGINE.search(text) for _, text in rendered(WALK, with_everything("variable")))


@pytest.mark.parametrize("start", ["parallel", "series"])
@pytest.mark.parametrize("location", ["cabin", "trailer"])
def test_no_design_check_speaks_of_an_engine_there_either(location, start):
    for one in design_checks(with_everything("converter", start, location)):
        assert not OF_AN_ENGINE.search(f"{one.title} {one.rule} {one.words}"), one.rule_id


def test_symptoms_fit_a_vehicle_without_an_engine_for_they_have_one_wording():
    for symptom in LIBRARY.symptoms.values():
        told = [symptom.words, symptom.ask_customer, *(one.why for one in symptom.first_readings)]
        assert not OF_AN_ENGINE.search(" / ".join(told)), symptom.id


OF_ONE_UNIT = {
    Post.CHARGER_INPUT,
    Post.CHARGER_OUTPUT,
    Post.CHARGER_NEGATIVE,
    Post.IGNITION_TERMINAL,
    *LOOP,
    Lead.SECOND_VEHICLE_FEED,
    Lead.SECOND_HOUSE_FEED,
    Post.SECOND_UNIT_INPUT,
    Post.SECOND_UNIT_OUTPUT,
}


@pytest.mark.parametrize("control", ["fixed", "variable", "converter"])
def test_with_two_units_each_reading_at_one_of_them_says_which(control):
    installation = with_everything(control)
    for step in WALK.in_words_for(installation).steps:
        point = step.point
        if point is None or not {point.red, point.black, point.clamp_on} & OF_ONE_UNIT:
            continue
        if step.id != "unit_stops_voltage":  # it is read at whichever goes on
            assert re.search("(first|second) (unit|in the set-up)", step.how), (step.id, step.how)
        else:
            assert "of the unit that still draws" in step.how


def test_wordings_of_two_conditions_go_together():
    step = WALK.in_words_for(with_everything("converter")).by_id["idle_charger_output_voltage"]
    assert step.title == "Measure the charger's output, vehicle ready"
    assert "first unit's output" in step.how


@pytest.mark.parametrize(
    ("fitted", "words", "not_there"),
    [
        ({"mains_charger": True}, "mains lead", "panel"),
        ({"solar_regulator": True}, "regulator's panel", "mains"),
    ],
)
def test_only_the_other_charger_that_is_there_is_named(fitted, words, not_there):
    installation = BASE.model_copy(update={"fitted": Fitted(**fitted)})
    step = WALK.in_words_for(installation).by_id["other_chargers_off"]
    assert words in step.how
    assert not_there not in f"{step.title} {step.how}".lower()
    shown = {one.id for one in run.cautions(LIBRARY, step.cautions, Facts(installation))}
    assert ("panel_live" in shown) is ("solar_regulator" in fitted)


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
