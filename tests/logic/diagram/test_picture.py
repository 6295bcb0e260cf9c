import pytest

from logic.case import Judgement, Reading, Verdict
from logic.diagram.picture import (
    TAKE_AGAIN,
    circuit_picture,
    covered_states,
    partners,
)
from logic.diagram.signs import Sign
from logic.limits.ladder import Grade, drop_as_judged, ladder
from logic.limits.verdict import judge_all
from logic.vehicle.installation import Extra, Installation, Location
from logic.vehicle.points import Part, Point, Post, ReadingKey, Run, State

VAN = Installation.model_validate(
    {
        "nominal_voltage_v": 12,
        "charger": {"rated_output_current_a": 40},
        "house_battery": {"chemistry": "agm", "capacity_ah": 120},
        "runs": {"vehicle_return": {"length_m": 1.5, "area_mm2": 16, "joints": 3}},
    }
)


def reading(point, value, state=State.IDLE):
    return Reading(point=point, state=state, value=value)


READINGS = (
    reading(Point.START_BATTERY_VOLTAGE, 13.94),
    reading(Point.CHARGER_INPUT_VOLTAGE, 12.28),
    reading(Point.VEHICLE_RETURN_DROP, 1.352),
    reading(Point.INPUT_CURRENT, 30.1),
    reading(Point.CHARGER_CASE_TEMPERATURE, 41.0),
    reading(Point.CHARGING_INDICATOR, 1),
    reading(Point.START_BATTERY_VOLTAGE, 12.64, State.REST),
)


def verdict(point, value, judgement, low=0.0, high=0.2, state=State.IDLE):
    return Verdict(
        point=point,
        state=state,
        value=value,
        expected_low=low,
        expected_high=high,
        uncertainty=0.01,
        verdict=judgement,
        reason="",
    )


def test_only_the_readings_of_its_state_stand_at_their_posts():
    picture = circuit_picture(VAN, State.IDLE, READINGS)
    assert {point: shown.text for point, shown in picture.values.items()} == {
        Point.START_BATTERY_VOLTAGE: "13.94 V",
        Point.CHARGER_INPUT_VOLTAGE: "in 12.28 V",
        Point.INPUT_CURRENT: "30.1 A",
    }
    assert picture.temperatures == {Part.CHARGER: "41 °C"}
    assert all(shown.sign is None for shown in picture.values.values())
    at_rest = circuit_picture(VAN, State.REST, READINGS)
    assert {point: shown.text for point, shown in at_rest.values.items()} == {
        Point.START_BATTERY_VOLTAGE: "12.64 V"
    }


def test_what_the_unit_is_set_to_stands_in_every_state_with_its_verdict():
    profile = reading(Point.PROFILE_SETTING_VOLTAGE, 14.7, State.REST)
    judged = verdict(
        Point.PROFILE_SETTING_VOLTAGE, 14.7, Judgement.OUT_OF_RANGE, 14.3, 14.5, State.REST
    )
    for state in State:
        shown = circuit_picture(VAN, state, (*READINGS, profile), [judged]).values
        assert shown[Point.PROFILE_SETTING_VOLTAGE].text == "set to 14.70 V"
        assert shown[Point.PROFILE_SETTING_VOLTAGE].sign is Sign.OUT_OF_RANGE
    assert covered_states([profile]) == ()
    # A setting is no reading of the key-off state: it makes that no better covered.
    assert covered_states((*READINGS, profile)) == covered_states(READINGS)


def test_a_value_has_its_verdicts_sign_and_a_doubtful_one_a_question():
    verdicts = [
        verdict(Point.START_BATTERY_VOLTAGE, 13.94, Judgement.IN_RANGE),
        verdict(Point.CHARGER_INPUT_VOLTAGE, 12.28, Judgement.OUT_OF_RANGE),
        verdict(Point.INPUT_CURRENT, 30.1, Judgement.MARGINAL),
    ]
    doubt = ReadingKey(Point.INPUT_CURRENT, State.IDLE)
    picture = circuit_picture(VAN, State.IDLE, READINGS, verdicts, suspects=[doubt])
    assert {point: shown.sign for point, shown in picture.values.items()} == {
        Point.START_BATTERY_VOLTAGE: Sign.IN_RANGE,
        Point.CHARGER_INPUT_VOLTAGE: Sign.OUT_OF_RANGE,
        Point.INPUT_CURRENT: Sign.QUESTION,
    }


def drops(judgement, value, high=0.2, current=30.0, suspects=()):
    return circuit_picture(
        VAN,
        State.IDLE,
        [reading(Point.VEHICLE_FEED_DROP, value), reading(Point.INPUT_CURRENT, current)],
        [verdict(Point.VEHICLE_FEED_DROP, value, judgement, high=high)],
        suspects=suspects,
    ).drops


@pytest.mark.parametrize(
    ("judgement", "value", "current", "grade", "word"),
    [
        (Judgement.IN_RANGE, 0.12, 30.0, Grade.AS_EXPECTED, "in order"),
        (Judgement.MARGINAL, 0.2, 30.0, Grade.MARGINAL, "at its limit"),
        (Judgement.OUT_OF_RANGE, 0.3, 30.0, Grade.TOO_MUCH, "too much"),
        (Judgement.OUT_OF_RANGE, 0.8, 30.0, Grade.TOO_MUCH, "4× limit"),
        (Judgement.OUT_OF_RANGE, -0.3, 30.0, Grade.WRONG_WAY, "wrong way"),
        (Judgement.OUT_OF_RANGE, 12.1, 0.0, Grade.OPEN, "open"),
        (Judgement.IN_RANGE, 0.0, 0.2, Grade.NOTHING_FLOWS, "no current"),
    ],
)
def test_a_run_is_graded_by_the_verdict_on_its_drop(judgement, value, current, grade, word):
    shown = drops(judgement, value, current=current)[Run.VEHICLE_FEED]
    assert (shown.grade, shown.word) == (grade, word)


def test_a_drop_that_cannot_be_right_is_to_be_taken_again():
    doubt = ReadingKey(Point.VEHICLE_FEED_DROP, State.IDLE)
    shown = drops(Judgement.OUT_OF_RANGE, 0.9, suspects=[doubt])[Run.VEHICLE_FEED]
    assert (shown.word, shown.sign) == (TAKE_AGAIN, Sign.QUESTION)


def test_what_follows_from_the_loop_is_shown_where_the_ladder_is_given():
    only_read = circuit_picture(VAN, State.IDLE, READINGS, judge_all(VAN, READINGS))
    assert set(only_read.drops) == {Run.VEHICLE_RETURN}
    known = ladder(VAN, READINGS, State.IDLE).drops
    picture = circuit_picture(VAN, State.IDLE, READINGS, drops=known)
    # 13.94 - 12.28 - 1.352 by hand.
    assert picture.drops[Run.VEHICLE_FEED].volts == "0.308 V"
    assert picture.drops[Run.HOUSE_FEED].grade is Grade.NOT_READ
    two = [one for one in READINGS if not one.point.is_drop]
    both = circuit_picture(VAN, State.IDLE, two, drops=ladder(VAN, two, State.IDLE).drops)
    assert both.drops[Run.VEHICLE_FEED].volts == "both 1.660 V"


def test_the_ladder_and_the_verdict_grade_a_drop_alike():
    verdicts = {one.point: one for one in judge_all(VAN, READINGS)}
    by_verdict = drop_as_judged(verdicts[Point.VEHICLE_RETURN_DROP], VAN, 30.1)
    by_ladder = ladder(VAN, READINGS, State.IDLE).drop(Run.VEHICLE_RETURN)
    assert by_verdict.grade is by_ladder.grade is Grade.TOO_MUCH
    assert by_verdict.share == pytest.approx(by_ladder.share)
    assert drop_as_judged(verdicts[Point.INPUT_CURRENT], VAN, 30.1) is None


def test_the_state_with_most_readings_comes_first_and_of_several_the_one_with_most_current():
    assert covered_states(READINGS) == (State.IDLE, State.REST)
    alike = [reading(Point.START_BATTERY_VOLTAGE, 13.9, state) for state in State]
    assert covered_states(alike) == (State.FAST_IDLE, State.IDLE, State.REST, State.SOLAR)
    lamps = [reading(Point.CHARGING_INDICATOR, 1), reading(Point.FAULT_INDICATOR, 0)]
    assert covered_states([*lamps, alike[0]]) == (State.REST,)
    assert covered_states(lamps) == ()


def test_every_post_can_be_read_against_another():
    assert all(partners(post) for post in Post)
    assert Post.CHARGER_NEGATIVE in partners(Post.CHARGER_INPUT)


@pytest.mark.parametrize(
    ("unit", "battery", "feed"),
    [
        # Common practice, no published source: the plug lies in the feed that crosses the hitch.
        (Location.TRAILER, Location.TRAILER, Run.VEHICLE_FEED),
        (Location.ENGINE_BAY, Location.TRAILER, Run.HOUSE_FEED),
        (None, Location.TRAILER, Run.VEHICLE_FEED),
        (Location.CABIN, Location.TRAY, None),
    ],
)
def test_the_plug_is_drawn_in_the_feed_that_crosses_the_hitch(unit, battery, feed):
    house = VAN.house_battery.model_copy(update={"location": battery})
    fitted = VAN.model_copy(update={"location": unit, "house_battery": house})
    assert circuit_picture(fitted, State.REST, ()).plug_in is feed


def test_what_else_charges_the_house_battery_is_on_the_picture():
    fitted = VAN.fitted.model_copy(update={"mains_charger": True})
    picture = circuit_picture(VAN.model_copy(update={"fitted": fitted}), State.REST, ())
    assert picture.sources == {Extra.MAINS_CHARGER}
    assert circuit_picture(VAN, State.REST, ()).sources == frozenset()
