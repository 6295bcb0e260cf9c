import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter, ValidationError

from logic.case import Judgement, Verdict
from logic.checklist.answers import ChoiceAnswer, ReadingAnswer, TextAnswer, YesNoAnswer
from logic.checklist.conditions import AllOf, AnyOf, Condition, Facts, NotSo, applies
from logic.vehicle.installation import Installation

CONDITION = TypeAdapter(Condition)
YES = {"kind": "nominal_voltage", "volts": 12}
NO = {"kind": "nominal_voltage", "volts": 24}
NOT_KNOWN = {"kind": "alternator_control", "one_of": ["variable"]}


def installation(**more):
    whole = {
        "charger": {"rated_output_current_a": 25},
        "house_battery": {"chemistry": "agm", "capacity_ah": 100},
    }
    return Installation.model_validate(whole | more)


def holds(condition, facts):
    return CONDITION.validate_python(condition).holds(facts)


@pytest.mark.parametrize(
    ("control", "expected"), [("fixed", False), ("variable", True), ("unknown", None)]
)
def test_an_alternator_of_unknown_control_leaves_the_condition_not_known(control, expected):
    facts = Facts(installation(alternator={"control": control}))
    assert holds(NOT_KNOWN, facts) is expected


def test_a_step_is_shown_while_its_condition_is_not_known_and_hidden_on_a_plain_no():
    assert applies(None, Facts())
    assert applies(CONDITION.validate_python(NOT_KNOWN), Facts(installation()))
    assert not applies(CONDITION.validate_python(NO), Facts(installation()))


@pytest.mark.parametrize(
    ("what", "fitted"),
    [
        ("solar", {"solar": {"rated_power_w": 200}}),
        ("temperature_sensor", {"fitted": {"temperature_sensor": True}}),
        ("reverse_charge", {"fitted": {"reverse_charge": True}}),
        ("battery_monitor", {"fitted": {"battery_monitor": True}}),
        ("existing_wiring", {"fitted": {"existing_wiring": True}}),
        ("second_charger", {"fitted": {"second_charger_rated_output_current_a": 25}}),
        (
            "input_current_limit",
            {"charger": {"rated_output_current_a": 50, "input_current_limit_a": 40}},
        ),
    ],
)
def test_an_extra_counts_as_fitted_only_once_it_is_described(what, fitted):
    condition = {"kind": "fitted", "what": what}
    assert holds(condition, Facts(installation(**fitted))) is True
    assert holds(condition, Facts(installation())) is False
    assert holds(condition, Facts()) is None


@pytest.mark.parametrize(
    ("condition", "described"),
    [
        ({"kind": "house_battery_chemistry", "one_of": ["agm", "gel"]}, {}),
        (
            {"kind": "start_battery_chemistry", "one_of": ["flooded"]},
            {"start_battery": {"chemistry": "flooded", "capacity_ah": 70}},
        ),
        ({"kind": "location", "one_of": ["tray", "trailer"]}, {"location": "tray"}),
        (YES, {}),
    ],
)
def test_what_is_described_answers_its_condition(condition, described):
    assert holds(condition, Facts(installation(**described))) is True


@pytest.mark.parametrize(
    "condition",
    [
        {"kind": "start_battery_chemistry", "one_of": ["agm"]},
        {"kind": "location", "one_of": ["cabin"]},
    ],
)
def test_what_is_not_described_is_not_known(condition):
    assert holds(condition, Facts(installation())) is None


@pytest.mark.parametrize(
    ("condition", "answer", "expected"),
    [
        ({"yes": True}, YesNoAnswer(yes=True), True),
        ({"yes": True}, YesNoAnswer(yes=False), False),
        ({"yes": False}, YesNoAnswer(yes=False), True),
        ({"choice": "loose"}, ChoiceAnswer(choice="loose"), True),
        ({"choice": "loose"}, ChoiceAnswer(choice="firm"), False),
        ({"choice": "loose"}, TextAnswer(text="loose"), False),
    ],
)
def test_an_earlier_answer_is_compared_as_given(condition, answer, expected):
    whole = {"kind": "answer_is", "step": "look"} | condition
    assert holds(whole, Facts(answers={"look": answer})) is expected


def test_a_step_not_answered_or_skipped_answers_no_condition():
    whole = {"kind": "answer_is", "step": "look", "yes": True}
    assert holds(whole, Facts()) is False
    assert holds(whole, Facts(skipped={"look": "no access"})) is False
    assert holds({"kind": "reading_below", "step": "look", "limit": 12}, Facts()) is False


@pytest.mark.parametrize(
    ("kind", "value", "expected"),
    [
        ("reading_below", 11.89, True),
        ("reading_below", 11.9, False),
        ("reading_above", 11.9, False),
        ("reading_above", 11.91, True),
    ],
)
def test_a_reading_at_its_limit_is_neither_below_nor_above(kind, value, expected):
    facts = Facts(installation(), {"look": ReadingAnswer(value=value)})
    assert holds({"kind": kind, "step": "look", "limit": 11.9}, facts) is expected


def test_a_limit_per_12_volt_is_doubled_on_a_24_volt_vehicle():
    below = {"kind": "reading_below", "step": "look", "limit": 11.9, "per_12_volt": True}
    answers = {"look": ReadingAnswer(value=23.0)}
    assert holds(below, Facts(installation(nominal_voltage_v=24), answers)) is True
    assert holds(below, Facts(installation(nominal_voltage_v=12), answers)) is False


# Kleene's strong three-valued tables: S. C. Kleene, Introduction to Metamathematics (1952),  64
@pytest.mark.parametrize(
    ("left", "right", "both", "either"),
    [
        (YES, YES, True, True),
        (YES, NO, False, True),
        (YES, NOT_KNOWN, None, True),
        (NO, NO, False, False),
        (NO, NOT_KNOWN, False, None),
        (NOT_KNOWN, NOT_KNOWN, None, None),
    ],
)
def test_all_and_any_follow_kleenes_tables_in_either_order(left, right, both, either):
    facts = Facts(installation())
    for pair in ([left, right], [right, left]):
        assert holds({"kind": "all", "of": pair}, facts) is both
        assert holds({"kind": "any", "of": pair}, facts) is either


@pytest.mark.parametrize(("inner", "expected"), [(YES, False), (NO, True), (NOT_KNOWN, None)])
def test_not_turns_yes_and_no_and_leaves_not_known(inner, expected):
    assert holds({"kind": "not", "of": inner}, Facts(installation())) is expected


atoms = st.sampled_from([YES, NO, NOT_KNOWN]).map(CONDITION.validate_python)
conditions = st.recursive(
    atoms,
    lambda inner: st.one_of(
        st.lists(inner, min_size=1, max_size=3).map(lambda of: AllOf(kind="all", of=tuple(of))),
        st.lists(inner, min_size=1, max_size=3).map(lambda of: AnyOf(kind="any", of=tuple(of))),
        inner.map(lambda of: NotSo(kind="not", of=of)),
    ),
    max_leaves=8,
)


@given(st.lists(conditions, min_size=1, max_size=3))
def test_de_morgan_holds_with_things_not_known(of):
    facts = Facts(installation())
    not_all = NotSo(kind="not", of=AllOf(kind="all", of=tuple(of)))
    any_not = AnyOf(kind="any", of=tuple(NotSo(kind="not", of=one) for one in of))
    assert not_all.holds(facts) is any_not.holds(facts)


@given(conditions)
def test_learning_what_was_not_known_never_turns_a_yes_into_a_no(condition):
    before = condition.holds(Facts(installation()))
    for control in ("fixed", "variable"):
        after = condition.holds(Facts(installation(alternator={"control": control})))
        assert before in (None, after)


@given(conditions)
def test_a_condition_survives_being_written_and_read(condition):
    assert CONDITION.validate_json(CONDITION.dump_json(condition)) == condition


def test_the_set_of_conditions_is_closed():
    with pytest.raises(ValidationError, match="union_tag_invalid"):
        CONDITION.validate_python({"kind": "expression", "text": "1 == 1"})


def verdict(judgement):
    return Verdict(
        point="vehicle_feed_drop",
        state="idle",
        value=1.0,
        expected_low=0.0,
        expected_high=0.3,
        uncertainty=0.01,
        verdict=judgement,
        reason="",
    )


@pytest.mark.parametrize("judgement", Judgement)
def test_a_reading_out_of_range_is_asked_of_its_verdict(judgement):
    out = {"kind": "reading_out", "step": "drop"}
    facts = Facts(
        installation(), {"drop": ReadingAnswer(value=1.0)}, judge=lambda _: verdict(judgement)
    )
    assert holds(out, facts) is (judgement is Judgement.OUT_OF_RANGE)
    assert holds(out, Facts(installation(), {"drop": ReadingAnswer(value=1.0)})) is False
    assert holds(out, Facts(installation(), judge=lambda _: verdict(judgement))) is False


# A 25 A unit gives 23 A or more in bulk (92 %, assumed in logic/circuit/charger.toml); up to
# 0.25 V under 14.4 V the current may be falling (assumed in logic/vehicle/assumed.py).
@pytest.mark.parametrize(
    ("amperes", "volts", "expected"),
    [
        (24.0, 13.0, False),
        (22.0, 13.0, True),
        (22.0, 14.1, True),
        (22.0, 14.2, False),
        (22.0, None, True),
        (None, 13.0, False),
    ],
)
def test_a_unit_gives_too_little_under_its_rating_and_under_the_absorption_voltage(
    amperes, volts, expected
):
    read = {"amps": amperes, "volts": volts}
    answers = {name: ReadingAnswer(value=value) for name, value in read.items() if value}
    fitted = installation(charger={"rated_output_current_a": 25, "absorption_voltage_v": 14.4})
    condition = {"kind": "gives_too_little", "step": "amps", "volts": "volts"}
    assert holds(condition, Facts(fitted, answers)) is expected


# 30 A in at 12.5 V, nine tenths efficient, are 24 A out at 14 V.
def test_a_unit_held_at_its_input_limit_is_not_asked_for_its_rating():
    condition = {"kind": "gives_too_little", "step": "amps"}
    answers = {"amps": ReadingAnswer(value=24.0)}
    charger = {"rated_output_current_a": 40}
    assert holds(condition, Facts(installation(charger=charger), answers)) is True
    held = charger | {"input_current_limit_a": 30}
    assert holds(condition, Facts(installation(charger=held), answers)) is False


# 20 A in at 25 V, nine tenths efficient, are 32 A out at 14 V; in at 12.5 V they are 8 A at 28 V.
def test_an_input_limit_leaves_what_each_sides_voltage_makes_of_it():
    condition = {"kind": "gives_too_little", "step": "amps"}
    charger = {"rated_output_current_a": 40, "input_current_limit_a": 20}
    for vehicle, house, gives in ((24, 12, 31.0), (12, 24, 7.8)):
        voltages = {"nominal_voltage_v": vehicle, "output_nominal_voltage_v": house}
        fitted = installation(charger=charger, **voltages)
        answers = {"amps": ReadingAnswer(value=gives)}
        assert holds(condition, Facts(fitted, answers)) is False, voltages
        answers = {"amps": ReadingAnswer(value=0.8 * gives)}
        assert holds(condition, Facts(fitted, answers)) is True, voltages


def test_a_limit_of_the_house_side_is_doubled_by_its_own_voltage():
    condition = {"kind": "reading_below", "step": "volts", "limit": 11.9, "per_12_volt": True}
    answers = {"volts": ReadingAnswer(value=12.4)}
    voltages = {"nominal_voltage_v": 24, "output_nominal_voltage_v": 12}
    fitted = installation(charger={"rated_output_current_a": 20}, **voltages)
    assert holds(condition, Facts(fitted, answers)) is True
    on_its_side = condition | {"on_house_side": True}
    assert holds(on_its_side, Facts(fitted, answers)) is False


def test_a_unit_that_is_not_described_gives_nobody_knows_what():
    condition = {"kind": "gives_too_little", "step": "amps"}
    assert holds(condition, Facts(None, {"amps": ReadingAnswer(value=3.0)})) is None
