import pytest
from hypothesis import given
from hypothesis import strategies as st

from logic.case import Case, Judgement, Reading
from logic.circuit.sound_installation import sound_installation
from logic.limits.verdict import EXPECTED, decide, judge, judge_all
from logic.vehicle.installation import Meter
from logic.vehicle.points import Point, Run, State
from tests.golden.table import rows
from tests.installations import installations
from tests.paths import GOLDEN

VAN = Case.from_json((GOLDEN / "library_van_case.json").read_text())
ORDER = {Judgement.IN_RANGE: 0, Judgement.MARGINAL: 1, Judgement.OUT_OF_RANGE: 2}


def reading(point, value, state=State.IDLE):
    return Reading(point=point, state=state, value=value)


@pytest.mark.parametrize("row", rows("decision_rule"))
def test_the_decision_rule_is_the_guidances(row):
    value, limit, expanded = (float(row[name]) for name in ("value_mv", "limit_mv", "expanded_mv"))
    assert decide(value, None, limit, expanded) == row["expected"]
    assert decide(-value, -limit, None, expanded) == row["expected"]


def test_without_a_limit_nothing_is_decided():
    assert decide(12.6, None, None, 0.1) is Judgement.NO_LIMIT


def test_a_band_narrower_than_the_meters_doubt_passes_nothing():
    assert decide(0.5, 0.0, 1.0, 0.6) is Judgement.MARGINAL


LIMIT = st.floats(-20, 20)


@given(LIMIT, st.floats(0, 10), LIMIT, st.floats(0, 5), st.floats(1, 10))
def test_wider_doubt_never_turns_marginal_into_pass_or_fail(low, width, value, doubt, factor):
    limits = (low, low + width)
    if decide(value, *limits, doubt) is Judgement.MARGINAL:
        assert decide(value, *limits, doubt * factor) is Judgement.MARGINAL


@given(LIMIT, st.lists(LIMIT, min_size=2, max_size=9), st.floats(0, 5))
def test_going_further_over_a_limit_is_never_judged_milder(limit, values, doubt):
    judged = [ORDER[decide(value, None, limit, doubt)] for value in sorted(values)]
    assert judged == sorted(judged)


# By hand: 0.92 V / 31 A is 29.7 mΩ; at commissioning 0.118 V / 27.4 A were 4.3 mΩ.
def test_a_drop_is_told_in_milliohms_against_what_the_run_should_be():
    drop = reading(Point.VEHICLE_RETURN_DROP, 0.92)
    verdict = judge(VAN.installation, VAN.readings, drop)
    assert verdict.verdict is Judgement.OUT_OF_RANGE
    assert verdict.reason.startswith(
        "0.920 V lost at 31.0 A is 30 mΩ; this run should be about 3.2 mΩ"
    )
    against = judge(VAN.installation, VAN.readings, drop, VAN.baseline)
    assert "at commissioning this run was 4.3 mΩ" in against.reason


# Trade: 0.3 V at 10 A is a worse run than 0.5 V at 40 A.
def test_a_drop_is_judged_by_the_current_that_flowed():
    unit = VAN.installation.charger.model_copy(update={"rated_output_current_a": 40.0})
    big = VAN.installation.model_copy(update={"charger": unit})
    at_ten = [reading(Point.INPUT_CURRENT, 10.0), reading(Point.VEHICLE_FEED_DROP, 0.3)]
    at_forty = [reading(Point.INPUT_CURRENT, 40.0), reading(Point.VEHICLE_FEED_DROP, 0.5)]
    assert judge(big, at_ten, at_ten[1]).verdict is Judgement.OUT_OF_RANGE
    assert judge(big, at_forty, at_forty[1]).verdict is not Judgement.OUT_OF_RANGE


def test_each_reading_gets_one_verdict_in_its_order():
    verdicts = judge_all(VAN.installation, VAN.readings, VAN.baseline)
    assert [(v.point, v.state, v.value) for v in verdicts] == [
        (r.point, r.state, r.value) for r in VAN.readings
    ]


@st.composite
def sheets(draw):
    """Any readings at all, sensible or not."""
    pairs = draw(
        st.lists(st.tuples(st.sampled_from(list(Point)), st.sampled_from(list(State))), max_size=8)
    )
    return [reading(p, draw(st.floats(-30, 60)), s) for p, s in pairs]


@given(installations(), sheets())
def test_any_sheet_is_judged_in_one_sentence_that_agrees_with_its_own_numbers(
    installation, readings
):
    for verdict in judge_all(installation, readings):
        limits = (verdict.expected_low, verdict.expected_high)
        assert decide(verdict.value, *limits, verdict.uncertainty) is verdict.verdict
        if None not in limits:
            assert verdict.expected_low <= verdict.expected_high
        assert verdict.reason.endswith(".")
        assert "nan" not in verdict.reason
        assert "inf" not in verdict.reason.replace("information", "")
        assert "None" not in verdict.reason


@given(installations(), sheets(), sheets())
def test_the_order_of_readings_at_different_posts_changes_no_verdict(installation, one, other):
    readings = list({(r.point, r.state): r for r in (*one, *other)}.values())
    forward = judge_all(installation, readings)
    backward = judge_all(installation, readings[::-1])
    assert forward == backward[::-1]


GOOD = Meter(
    voltage_accuracy_percent=0.3,
    voltage_counts=1,
    voltage_resolution_v=0.001,
    current_accuracy_percent=1,
    current_zero_a=0.1,
    current_resolution_a=0.1,
)


@given(installations(), sheets(), sheets(), st.floats(1, 5))
def test_a_worse_meter_never_turns_marginal_into_pass_or_fail(installation, readings, base, factor):
    worse = Meter(**{name: min(value * factor, 20) for name, value in GOOD})
    worse = worse.model_copy(update={"voltage_resolution_v": 0.001})
    with_good = judge_all(installation.model_copy(update={"meter": GOOD}), readings, base)
    with_worse = judge_all(installation.model_copy(update={"meter": worse}), readings, base)
    for good, bad in zip(with_good, with_worse, strict=True):
        assert (good.expected_low, good.expected_high) == (bad.expected_low, bad.expected_high)
        assert bad.uncertainty >= good.uncertainty - 1e-12
        if good.verdict is Judgement.MARGINAL:
            assert bad.verdict is Judgement.MARGINAL


RUNS = {
    Run.VEHICLE_FEED: (Point.VEHICLE_FEED_DROP, Point.INPUT_CURRENT),
    Run.VEHICLE_RETURN: (Point.VEHICLE_RETURN_DROP, Point.INPUT_CURRENT),
    Run.HOUSE_FEED: (Point.HOUSE_FEED_DROP, Point.OUTPUT_CURRENT),
    Run.HOUSE_RETURN: (Point.HOUSE_RETURN_DROP, Point.OUTPUT_CURRENT),
}


@given(
    installations(),
    st.sampled_from(list(RUNS)),
    st.floats(1.0, 4.0),
    st.floats(2, 60),
    st.floats(0.85, 1.15),
)
def test_a_sound_run_passes_and_a_thicker_one_never_turns_that_into_a_fail(
    installation, run, thicker, amperes, scatter
):
    cable = getattr(installation.runs, run.value)
    drop, clamp = RUNS[run]
    for factor in (1.0, thicker):
        area = cable.area_mm2 and cable.area_mm2 * factor
        runs = installation.runs.model_copy(
            update={run.value: cable.model_copy(update={"area_mm2": area})}
        )
        described = installation.model_copy(update={"runs": runs})
        shown = sound_installation(described).run_ohm[run].mean * scatter * amperes
        verdict = judge(described, [reading(clamp, amperes)], reading(drop, shown))
        assert verdict.verdict is not Judgement.OUT_OF_RANGE


@given(
    installations(),
    st.sampled_from([Point.VEHICLE_FEED_DROP, Point.HOUSE_FEED_DROP, Point.HOUSE_RETURN_DROP]),
    st.lists(st.floats(0.1, 14), min_size=2, max_size=6),
    st.floats(5, 60),
)
def test_a_larger_drop_at_the_same_current_is_never_judged_milder(
    installation, point, drops, amperes
):
    clamp = Point.INPUT_CURRENT if point is Point.VEHICLE_FEED_DROP else Point.OUTPUT_CURRENT
    known = [reading(clamp, amperes)]
    verdicts = [judge(installation, known, reading(point, drop)) for drop in sorted(drops)]
    judged = [
        ORDER[v.verdict] for v in verdicts if v.value >= (v.expected_low or 0) + v.uncertainty
    ]
    assert judged == sorted(judged)


# Case contract, vehicle_fuse_open: no current, and the whole supply across the run.
def test_the_whole_supply_across_a_run_without_current_is_told_to_be_an_open_run():
    readings = [reading(Point.INPUT_CURRENT, 0.0), reading(Point.START_BATTERY_VOLTAGE, 13.9)]
    verdict = judge(VAN.installation, readings, reading(Point.VEHICLE_FEED_DROP, 13.9))
    assert verdict.verdict is Judgement.OUT_OF_RANGE
    assert "it is open" in verdict.reason


def test_what_to_look_at_is_said_only_where_a_reading_is_out_and_on_its_own_side():
    low = judge(VAN.installation, [], reading(Point.START_BATTERY_VOLTAGE, 11.6))
    high = judge(VAN.installation, [], reading(Point.START_BATTERY_VOLTAGE, 16.5))
    sound = judge(VAN.installation, [], reading(Point.START_BATTERY_VOLTAGE, 14.0))
    assert "fast idle" in low.reason
    assert "regulator" in high.reason
    assert "regulator" not in sound.reason
    assert "fast idle" not in sound.reason


def test_a_reading_too_close_to_call_is_said_to_be_so():
    limit = judge(VAN.installation, [], reading(Point.START_BATTERY_VOLTAGE, 14.0)).expected_low
    verdict = judge(VAN.installation, [], reading(Point.START_BATTERY_VOLTAGE, round(limit, 2)))
    assert verdict.verdict is Judgement.MARGINAL
    assert "too close to the limit to tell" in verdict.reason


def test_a_point_without_a_rule_has_no_limit_and_says_so_in_plain_words(monkeypatch):
    rules = {point: rule for point, rule in EXPECTED.items() if point is not Point.SOLAR_CURRENT}
    monkeypatch.setattr("logic.limits.verdict.EXPECTED", rules)
    verdict = judge(VAN.installation, VAN.readings, reading(Point.SOLAR_CURRENT, 4.2))
    assert verdict.verdict is Judgement.NO_LIMIT
    assert verdict.reason == "4.2 A; what it should be is not known."
    assert (verdict.expected_low, verdict.expected_high) == (None, None)
