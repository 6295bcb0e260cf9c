from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logic.checklist import run
from logic.checklist.answers import (
    ChoiceAnswer,
    PhotoAnswer,
    ReadingAnswer,
    TextAnswer,
    YesNoAnswer,
)
from logic.checklist.conditions import Facts
from logic.checklist.depth import Depth
from logic.checklist.form import load
from logic.checklist.step import AskChoice, AskPhoto, AskReading, AskText, AskYesNo
from logic.diagnosis.catalogue import faults, parts_touched
from logic.vehicle.installation import Installation
from logic.vehicle.points import Point, State
from tests.paths import CHECKLISTS

LIBRARY = load(CHECKLISTS)
WALK = LIBRARY.checklists["commissioning"]
STEPS = tuple(WALK.steps)


def installation(**more):
    whole = {
        "alternator": {"control": "fixed"},
        "charger": {"rated_output_current_a": 25},
        "house_battery": {"chemistry": "agm", "capacity_ah": 100},
    }
    return Installation.model_validate(whole | more)


PLAIN = installation()
EVERYTHING = installation(
    alternator={"control": "variable"},
    charger={"rated_output_current_a": 50, "input_current_limit_a": 40},
    house_battery={"chemistry": "lifepo4", "capacity_ah": 200},
    solar={"rated_power_w": 200},
    fitted={
        "temperature_sensor": True,
        "reverse_charge": True,
        "battery_monitor": True,
        "existing_wiring": True,
        "second_charger_rated_output_current_a": 25,
    },
)


def answers_to(step):
    match step.ask:
        case AskReading():
            return st.floats(-50, 50).map(lambda value: ReadingAnswer(value=value))
        case AskYesNo():
            return st.booleans().map(lambda yes: YesNoAnswer(yes=yes))
        case AskChoice(choices=choices):
            return st.sampled_from(choices).map(lambda one: ChoiceAnswer(choice=one.id))
        case AskText():
            return st.just(TextAnswer(text="as agreed"))
        case AskPhoto():
            return st.just(PhotoAnswer(sha256="0" * 64))


def some_answers(steps):
    return st.fixed_dictionaries({}, optional={step.id: answers_to(step) for step in steps})


skips = st.dictionaries(st.sampled_from([step.id for step in STEPS]), st.just("no access"))
installations = st.sampled_from([None, PLAIN, EVERYTHING, installation(nominal_voltage_v=24)])
facts_so_far = st.builds(Facts, installations, some_answers(STEPS), skips)
few = settings(max_examples=60, deadline=None)


def ids(steps):
    return [step.id for step in steps]


@few
@given(facts_so_far)
def test_applicable_steps_keep_the_order_of_the_checklist(facts):
    applicable = ids(run.applicable_steps(WALK, facts))
    assert applicable == [step_id for step_id in ids(STEPS) if step_id in applicable]


@few
@given(facts_so_far)
def test_every_applicable_step_is_done_skipped_or_open_and_counted_once(facts):
    stages = run.progress(WALK, facts)
    applicable = run.applicable_steps(WALK, facts)
    assert sum(one.total for one in stages) == len(applicable)
    assert sum(one.open for one in stages) == len(run.open_steps(WALK, facts))
    assert all(min(one.done, one.skipped, one.open) >= 0 and one.total for one in stages)


@few
@given(facts_so_far, st.data())
def test_one_more_answer_never_lowers_the_number_of_steps_done(facts, data):
    asked_about = {"ignition_source", "rest_house_battery_voltage"}  # others may hang on these
    step = data.draw(st.sampled_from([one for one in STEPS if one.id not in asked_about]))
    answer = data.draw(answers_to(step))
    more = Facts(facts.installation, {**facts.answers, step.id: answer}, facts.skipped)
    before = [(one.stage.id, one.done) for one in run.progress(WALK, facts)]
    after = {one.stage.id: one.done for one in run.progress(WALK, more)}
    assert all(after[stage] >= done for stage, done in before)
    assert set(ids(run.open_steps(WALK, more))) <= set(ids(run.open_steps(WALK, facts)))


@few
@given(facts_so_far)
def test_the_order_in_which_answers_came_does_not_matter(facts):
    backwards = Facts(
        facts.installation, dict(reversed(facts.answers.items())), dict(facts.skipped)
    )
    assert run.progress(WALK, backwards) == run.progress(WALK, facts)


@few
@given(facts_so_far)
def test_going_forward_visits_every_applicable_step_and_back_again_returns(facts):
    applicable = run.applicable_steps(WALK, facts)
    visited = [applicable[0]]
    while following := run.next_step(WALK, facts, visited[-1].id):
        visited.append(following)
    assert ids(visited) == ids(applicable)
    assert run.previous_step(WALK, facts, visited[0].id) is None
    for earlier, later in pairwise(visited):
        assert run.previous_step(WALK, facts, later.id) is earlier


@few
@given(facts_so_far, st.sampled_from(["", *ids(STEPS)]))
def test_the_next_open_step_is_open_and_comes_round_again_at_the_end(facts, after):
    still_open = run.open_steps(WALK, facts)
    following = run.next_open_step(WALK, facts, after)
    assert (following is None) == (not still_open)
    if following is not None:
        order = ids(STEPS)
        later = [one for one in still_open if order.index(one.id) > order.index(after or order[0])]
        assert following in still_open
        assert not (after and later) or following is later[0]


@few
@given(installations, st.data())
def test_following_the_next_open_step_ends_with_a_complete_checklist(described, data):
    answers = {}
    for _ in range(len(STEPS) + 1):
        facts = Facts(described, dict(answers))
        step = run.next_open_step(WALK, facts)
        if step is None:
            break
        answers[step.id] = data.draw(answers_to(step))
    assert run.is_complete(WALK, Facts(described, answers))
    assert run.open_steps(WALK, Facts(described, answers)) == ()


def test_a_step_that_is_not_required_may_stay_open():
    optional = {step.id for step in STEPS if not step.required}
    reasons = {step_id: "no access" for step_id in ids(STEPS) if step_id not in optional}
    facts = Facts(EVERYTHING, {}, reasons)
    assert optional
    assert set(ids(run.open_steps(WALK, facts))) == optional
    assert run.is_complete(WALK, facts)


def test_an_answer_counts_even_where_the_step_was_skipped_before():
    facts = Facts(PLAIN, {"job_made_safe": YesNoAnswer(yes=True)}, {"job_made_safe": "later"})
    first = run.progress(WALK, facts)[0]
    assert (first.done, first.skipped) == (1, 0)


def test_an_answer_to_a_step_that_no_longer_applies_counts_for_nothing():
    fixed = installation(alternator={"control": "fixed"})
    answers = {
        "ignition_source": ChoiceAnswer(choice="not_connected"),
        "rest_ignition_signal_voltage": ReadingAnswer(value=12.4),
    }
    asked = Facts(installation(alternator={"control": "variable"}), answers)
    not_asked = Facts(fixed, answers)
    assert Point.IGNITION_SIGNAL_VOLTAGE in {one.point for one in run.readings(WALK, asked)}
    assert run.readings(WALK, not_asked) == ()


def test_a_fixed_alternator_with_no_trigger_wire_is_not_asked_for_its_volts():
    answers = {"ignition_source": ChoiceAnswer(choice="not_connected")}
    trigger = {"rest_ignition_signal_voltage", "idle_ignition_signal_voltage"}
    for control, shown in (("fixed", set()), ("variable", trigger), ("unknown", trigger)):
        facts = Facts(installation(alternator={"control": control}), answers)
        assert trigger & set(ids(run.applicable_steps(WALK, facts))) == shown


@pytest.mark.parametrize(
    ("volts", "nominal", "shown"), [(11.8, 12, 1), (12.0, 12, 0), (23.6, 24, 1)]
)
def test_a_house_battery_that_rests_low_is_asked_after(volts, nominal, shown):
    answers = {"rest_house_battery_voltage": ReadingAnswer(value=volts)}
    facts = Facts(installation(nominal_voltage_v=nominal), answers)
    assert ids(run.applicable_steps(WALK, facts)).count("house_battery_rests_low") == shown


def test_readings_come_with_point_and_state_in_the_order_of_the_walk():
    answers = {
        "idle_vehicle_feed_drop": ReadingAnswer(value=0.21),
        "rest_start_battery_voltage": ReadingAnswer(value=12.6),
        "job_made_safe": YesNoAnswer(yes=True),
    }
    taken = run.readings(WALK, Facts(PLAIN, answers))
    assert [(one.point, one.state, one.value) for one in taken] == [
        (Point.START_BATTERY_VOLTAGE, State.REST, 12.6),
        (Point.VEHICLE_FEED_DROP, State.IDLE, 0.21),
    ]


@pytest.mark.parametrize(
    ("step_id", "answer", "acceptable"),
    [
        ("job_made_safe", YesNoAnswer(yes=True), True),
        ("job_made_safe", YesNoAnswer(yes=False), False),
        ("joints_stay_cool", YesNoAnswer(yes=True), False),
        ("joints_stay_cool", YesNoAnswer(yes=False), True),
        ("ignition_source", ChoiceAnswer(choice="key_on"), True),
        ("ignition_source", ChoiceAnswer(choice="always_live"), False),
        ("ignition_source", ChoiceAnswer(choice="no_such_choice"), False),
        ("idle_vehicle_feed_drop", ReadingAnswer(value=3.0), True),
        ("photo_of_terminals", PhotoAnswer(sha256="a" * 64), True),
        ("job_made_safe", TextAnswer(text="yes"), False),
    ],
)
def test_an_answer_is_acceptable_as_the_step_says(step_id, answer, acceptable):
    assert run.is_acceptable(WALK.by_id[step_id], answer) is acceptable


def test_an_answer_of_another_kind_or_choice_does_not_fit():
    step = WALK.by_id["ignition_source"]
    assert run.answer_fits(step, ChoiceAnswer(choice="key_on"))
    assert not run.answer_fits(step, ChoiceAnswer(choice="firm"))
    assert not run.answer_fits(step, YesNoAnswer(yes=True))


def test_cautions_for_lithium_stay_away_from_a_lead_battery():
    wanted = ("lithium_protection", "hydrogen", "meter_leads")
    lead = run.cautions(LIBRARY, wanted, Facts(PLAIN))
    assert [one.id for one in lead] == ["hydrogen", "meter_leads"]
    assert len(run.cautions(LIBRARY, wanted, Facts())) == 3


@pytest.mark.parametrize(
    ("fault", "taken_again"),
    [
        ("vehicle_feed_resistive", "idle_vehicle_feed_drop"),
        ("vehicle_fuse_open", "rest_charger_input_voltage"),
        ("vehicle_return_resistive", "idle_vehicle_return_drop"),
        ("charger_negative_open", "idle_house_return_drop"),
        ("ignition_always_live", "rest_input_current"),
        ("ignition_signal_missing", "idle_ignition_signal_voltage"),
        ("charger_no_output", "idle_output_current"),
        ("profile_too_high", "profile_setting_voltage"),
        ("house_fuse_open", "idle_house_feed_drop"),
        ("solar_reversed", "solar_open_circuit_voltage"),
        ("house_battery_low_cell", "rest_house_battery_voltage"),
    ],
)
def test_a_repair_is_proved_where_the_fault_showed(fault, taken_again):
    facts = Facts(EVERYTHING)
    assert taken_again in ids(run.steps_to_prove(WALK, facts, parts_touched([fault])))


def test_a_repaired_house_feed_leaves_the_solar_steps_alone():
    again = run.steps_to_prove(WALK, Facts(EVERYTHING), parts_touched(["house_fuse_open"]))
    assert not {step.state for step in again} & {State.SOLAR}


def test_every_fault_that_is_one_has_a_reading_that_proves_its_repair():
    harmless = {"no_fault", "house_battery_charged"}
    for fault in set(faults()) - harmless:
        again = run.steps_to_prove(WALK, Facts(EVERYTHING), parts_touched([fault]))
        assert any(isinstance(step.ask, AskReading) for step in again), fault
    assert run.steps_to_prove(WALK, Facts(EVERYTHING), parts_touched(harmless)) == ()


def depth_facts(depth, **answers):
    return Facts(PLAIN, answers, depth=depth)


@pytest.mark.parametrize("depth", Depth)
def test_every_step_that_fits_is_asked_for_or_left_out_by_the_depth(depth):
    facts = depth_facts(depth)
    asked, left_out = run.applicable_steps(WALK, facts), run.left_out_by_depth(WALK, facts)
    everything = ids(run.applicable_steps(WALK, depth_facts(Depth.FULL)))
    assert sorted(ids(asked) + ids(left_out)) == sorted(everything)
    assert not left_out or depth is not Depth.FULL


def test_what_was_answered_or_left_out_by_hand_counts_at_every_depth():
    given = {"fast_idle_input_current": ReadingAnswer(value=20.0)}
    assert "fast_idle_input_current" in ids(
        run.applicable_steps(WALK, depth_facts(Depth.SHORT, **given))
    )
    skipped = Facts(PLAIN, {}, {"fast_idle_input_current": "no second person"}, Depth.SHORT)
    assert "fast_idle_input_current" in ids(run.applicable_steps(WALK, skipped))


@pytest.mark.parametrize("depth", Depth)
def test_screens_hold_every_step_once_and_in_order(depth):
    facts = depth_facts(depth)
    shown = run.screens(WALK, facts)
    assert [step.id for one in shown for step in one.steps] == ids(
        run.applicable_steps(WALK, facts)
    )
    assert all((one.look is not None) == (len(one.steps) > 1) for one in shown)
