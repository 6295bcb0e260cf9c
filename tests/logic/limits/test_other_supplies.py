"""A converter instead of an alternator, two start batteries, another voltage on the house side."""

import pytest

from logic.case import Case, Judgement, Reading
from logic.limits.impossible import why_impossible
from logic.limits.ladder import Grade, ladder
from logic.limits.verdict import expectation, judge
from logic.vehicle.installation import (
    Alternator,
    Fitted,
    Joined,
    Solar,
    StartBattery,
    Trailer,
)
from logic.vehicle.points import HOUSE_SIDE, Point, ReadingKey, Run, State
from tests.paths import GOLDEN

VAN = Case.from_json((GOLDEN / "library_van_case.json").read_text()).installation
HYBRID = VAN.model_copy(update={"alternator": Alternator(control="converter")})
TRUCK = VAN.model_copy(
    update={
        "nominal_voltage_v": 24,
        "start_battery": StartBattery(chemistry="flooded", capacity_ah=180, second=Joined.SERIES),
    }
)


def read(point, value, state=State.IDLE):
    return Reading(point=point, state=state, value=value)


def verdict(installation, reading, *others):
    return judge(installation, [*others, reading], reading)


# Common practice, no published source: such a supply holds 13.2 V or more while it is switched on;
# BCI table: a full flooded battery rests at 12.65 V, so a supply at that is not on.
@pytest.mark.parametrize(
    ("volts", "judgement"),
    [
        (12.2, Judgement.OUT_OF_RANGE),
        (12.65, Judgement.OUT_OF_RANGE),
        (13.4, Judgement.IN_RANGE),
        (14.6, Judgement.IN_RANGE),
        (15.9, Judgement.OUT_OF_RANGE),
    ],
)
def test_a_converter_holds_its_volts_steady(volts, judgement):
    assert verdict(HYBRID, read(Point.START_BATTERY_VOLTAGE, volts)).verdict is judgement


def test_a_supply_that_is_not_switched_on_says_where_to_look():
    said = verdict(HYBRID, read(Point.START_BATTERY_VOLTAGE, 12.5)).reason
    for words in ("not switched on", "ready lamp", "low-power", "fuse", "qualified"):
        assert words in said


FULLY_FITTED = HYBRID.model_copy(
    update={
        "charger": HYBRID.charger.model_copy(update={"input_current_limit_a": 20.0}),
        "trailer": Trailer(),
        "fitted": Fitted(
            temperature_sensor=True,
            reverse_charge=True,
            battery_monitor=True,
            second_charger_rated_output_current_a=25,
        ),
    }
)


@pytest.mark.parametrize("hybrid", [HYBRID, FULLY_FITTED], ids=["plain", "fully fitted"])
def test_no_verdict_of_a_vehicle_without_an_alternator_speaks_of_engine_or_idle(hybrid):
    for point in Point:
        for state in (one for one in State if one.exists_on(hybrid)):
            found = expectation(hybrid, [], point, state)
            said = f"{found.why} {found.under} {found.over} {found.proves_nothing}".lower()
            assert "idle" not in said, (point, said)
            assert "alternator" not in said, (point, said)
            assert "the engine" not in said, (point, said)
            assert "running engine" not in said, (point, said)
            assert "engine off" not in said, (point, said)


def test_a_vehicle_that_is_ready_has_one_running_state_in_its_own_words():
    assert not State.FAST_IDLE.exists_on(HYBRID)
    assert State.FAST_IDLE.exists_on(VAN)
    assert State.IDLE.full_name_on(HYBRID) == "Vehicle ready"
    assert State.IDLE.full_name_on(VAN) == State.IDLE.full_name_on(None) == "Engine idling"


# Common practice, no published source: two equal batteries in series stand within some tenths.
@pytest.mark.parametrize(
    ("first", "judgement", "words"),
    [
        (12.6, Judgement.IN_RANGE, "12.60 V each"),
        (12.0, Judgement.OUT_OF_RANGE, "this one is weak, or something is fed from it alone"),
        (13.2, Judgement.OUT_OF_RANGE, "the other one is weak"),
    ],
)
@pytest.mark.parametrize("by", [Point.START_BATTERY_VOLTAGE, Point.CHARGER_INPUT_VOLTAGE])
def test_two_in_series_share_the_volts(first, judgement, words, by):
    both = read(by, 25.2, State.REST)
    found = verdict(TRUCK, read(Point.FIRST_SERIES_VOLTAGE, first, State.REST), both)
    assert found.verdict is judgement
    assert words in found.reason


def test_one_of_two_in_series_never_shows_more_than_both():
    both = {ReadingKey(Point.START_BATTERY_VOLTAGE, State.REST): 12.6}
    key = ReadingKey(Point.FIRST_SERIES_VOLTAGE, State.REST)
    assert "both show" in why_impossible(key, 25.0, both, 2.0)
    assert why_impossible(key, 12.0, both, 2.0) == ""


# A house side of another voltage is judged as one of that voltage always was: the two installations
# differ only in what the vehicle's side is.
@pytest.mark.parametrize(("vehicle", "house"), [(24, 12), (12, 24)])
@pytest.mark.parametrize("state", [State.REST, State.SOLAR])
def test_each_side_is_judged_on_its_own_voltage(vehicle, house, state):
    stepping = VAN.model_copy(
        update={"nominal_voltage_v": vehicle, "output_nominal_voltage_v": house}
    )
    of_house = VAN.model_copy(update={"nominal_voltage_v": house})
    of_vehicle = VAN.model_copy(update={"nominal_voltage_v": vehicle})
    for point in (Point.HOUSE_BATTERY_VOLTAGE, Point.CHARGER_OUTPUT_VOLTAGE):
        assert expectation(stepping, [], point, state) == expectation(of_house, [], point, state)
    for point in (Point.START_BATTERY_VOLTAGE, Point.IGNITION_SIGNAL_VOLTAGE):
        assert expectation(stepping, [], point, state) == expectation(of_vehicle, [], point, state)
    for run in HOUSE_SIDE:
        point = Point[f"{run.name}_DROP"]
        assert expectation(stepping, [], point, State.REST) == expectation(
            of_house, [], point, State.REST
        )


# By hand, nine tenths efficient: 20 A at 14.0 V out of 26.0 V are 280 W / 0.9 / 26 V = 12.0 A; at
# 28.0 V out of 13.0 V they are 560 W / 0.9 / 13 V = 47.9 A.
@pytest.mark.parametrize(
    ("vehicle", "house", "at_input", "at_output", "drawn"),
    [(24, 12, 26.0, 14.0, 12.0), (12, 24, 13.0, 28.0, 47.9)],
)
def test_the_input_current_goes_by_power(vehicle, house, at_input, at_output, drawn):
    charger = VAN.charger.model_copy(update={"efficiency": 0.9})
    stepping = VAN.model_copy(
        update={
            "nominal_voltage_v": vehicle,
            "output_nominal_voltage_v": house,
            "charger": charger,
            "solar": None,
        }
    )
    others = (
        read(Point.CHARGER_INPUT_VOLTAGE, at_input),
        read(Point.CHARGER_OUTPUT_VOLTAGE, at_output),
        read(Point.OUTPUT_CURRENT, 20.0),
    )
    found = verdict(stepping, read(Point.INPUT_CURRENT, drawn), *others)
    assert found.verdict is Judgement.IN_RANGE
    wrong = verdict(stepping, read(Point.INPUT_CURRENT, 22.0), *others)
    assert wrong.verdict is Judgement.OUT_OF_RANGE


# CEC list in pvlib: -0.337 %/K; 18 V at 25 °C are 15.9 V with cells at 60 °C, under the 26 V that a
# 24 V battery stands at while it is charged: no current, unless the unit steps up.
@pytest.mark.parametrize("house", [24, 12])
def test_a_panel_under_the_batterys_volts_may_give_nothing(house):
    panel = Solar(
        rated_power_w=200,
        open_circuit_voltage_v=22.0,
        short_circuit_current_a=11.8,
        max_power_voltage_v=18.0,
    )
    charger = VAN.charger.model_copy(update={"absorption_voltage_v": 1.2 * house})
    fitted = VAN.model_copy(
        update={"solar": panel, "output_nominal_voltage_v": house, "charger": charger}
    )
    light = read(Point.SUNLIGHT_FRACTION, 1.0, State.SOLAR)
    found = verdict(fitted, read(Point.SOLAR_CURRENT, 0.2, State.SOLAR), light)
    assert (found.verdict is Judgement.OUT_OF_RANGE) is (house == 12)
    assert ("does not step up" in found.reason) is (house == 24)


# A run that takes half of its own side's voltage is open (DEAD_V); 8 V of 26 V are a bad joint.
def test_a_run_is_open_by_its_own_sides_voltage():
    stepping = VAN.model_copy(update={"nominal_voltage_v": 24, "output_nominal_voltage_v": 12})
    readings = [
        read(Point.VEHICLE_FEED_DROP, 8.0),
        read(Point.HOUSE_FEED_DROP, 8.0),
        read(Point.INPUT_CURRENT, 15.0),
    ]
    found = ladder(stepping, readings, State.IDLE)
    assert found.drop(Run.VEHICLE_FEED).grade is Grade.TOO_MUCH
    assert found.drop(Run.HOUSE_FEED).grade is Grade.OPEN
