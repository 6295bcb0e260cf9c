"""The ladder by hand: volts around the loop add up (Kirchhoff's voltage law)."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logic.case import Reading
from logic.limits.ladder import Grade, Origin, ladder
from logic.limits.loop_state import telling_current
from logic.vehicle.installation import (
    CableRun,
    Charger,
    HouseBattery,
    Installation,
    Runs,
)
from logic.vehicle.points import Point, Post, Run, State

INSTALLATION = Installation(
    charger=Charger(rated_output_current_a=40, efficiency=0.9),
    house_battery=HouseBattery(chemistry="agm", capacity_ah=100),
    runs=Runs(
        vehicle_feed=CableRun(length_m=5, area_mm2=16, joints=4, fuse_a=60),
        vehicle_return=CableRun(length_m=1.5, area_mm2=16, joints=2),
        house_feed=CableRun(length_m=1.5, area_mm2=16, joints=4, fuse_a=60),
        house_return=CableRun(length_m=1, area_mm2=16, joints=2),
    ),
)


def taken(**values: float) -> tuple[Reading, ...]:
    return tuple(
        Reading(point=Point(point), state=State.IDLE, value=value)
        for point, value in values.items()
    )


def shown(**values: float):
    return ladder(INSTALLATION, taken(**values), State.IDLE)


def test_a_step_that_was_not_read_follows_from_the_loop():
    # 13.90 = feed + 12.40 + 1.20, so the feed drops 0.30 V.
    found = shown(
        start_battery_voltage=13.90, charger_input_voltage=12.40, vehicle_return_drop=1.20
    ).drop(Run.VEHICLE_FEED)
    assert found.drop_v == pytest.approx(0.30)
    assert found.origin is Origin.WORKED_OUT


def test_without_either_drop_feed_and_return_stand_together():
    found = shown(start_battery_voltage=13.90, charger_input_voltage=12.40)
    feed, back = found.drop(Run.VEHICLE_FEED), found.drop(Run.VEHICLE_RETURN)
    assert feed.drop_v == back.drop_v == pytest.approx(1.50)
    assert feed.origin is back.origin is Origin.TOGETHER
    assert (feed.partner, back.partner) == (Run.VEHICLE_RETURN, Run.VEHICLE_FEED)


def test_a_step_that_was_read_is_taken_as_read():
    found = shown(vehicle_feed_drop=0.21, start_battery_voltage=13.9, charger_input_voltage=13.2)
    assert found.drop(Run.VEHICLE_FEED).drop_v == 0.21
    assert found.drop(Run.VEHICLE_FEED).origin is Origin.READ
    assert found.drop(Run.VEHICLE_RETURN).drop_v == pytest.approx(0.49)


# 5 m of 16 mm² at 17.5 mΩ·mm²/m are 5.5 mΩ; with four joints and a fuse some 10 mΩ: at 40 A about
# 0.4 V, and 3 V can only be a fault.
@pytest.mark.parametrize(
    ("drop", "amps", "grade"),
    [
        (0.30, 40, Grade.AS_EXPECTED),
        (3.00, 40, Grade.TOO_MUCH),
        (13.8, 0, Grade.OPEN),
        (-0.4, 40, Grade.WRONG_WAY),
        (0.001, 0.2, Grade.NOTHING_FLOWS),
    ],
)
def test_a_run_is_graded_by_what_it_drops_at_the_current_that_flows(drop, amps, grade):
    found = shown(vehicle_feed_drop=drop, input_current=amps)
    assert found.drop(Run.VEHICLE_FEED).grade is grade


def test_what_was_not_read_is_said_to_be_so():
    found = shown()
    assert {step.grade for step in found.drops} == {Grade.NOT_READ}
    assert [rung.potential_v for rung in found.rungs] == [None] * 6 + [0.0]


def test_the_ladder_climbs_and_descends_by_the_readings():
    found = shown(
        start_battery_voltage=14.00,
        vehicle_feed_drop=0.40,
        vehicle_return_drop=0.10,
        charger_output_voltage=14.20,
        house_feed_drop=0.15,
        house_return_drop=0.05,
    )
    potentials = {rung.post: rung.potential_v for rung in found.rungs}
    assert potentials[Post.START_BATTERY_POSITIVE] == pytest.approx(14.00)
    assert potentials[Post.CHARGER_INPUT] == pytest.approx(13.60)
    assert potentials[Post.CHARGER_NEGATIVE] == pytest.approx(0.10)
    assert potentials[Post.CHARGER_OUTPUT] == pytest.approx(14.30)
    assert potentials[Post.HOUSE_BATTERY_POSITIVE] == pytest.approx(14.15)
    assert potentials[Post.HOUSE_BATTERY_NEGATIVE] == pytest.approx(0.15)


def test_readings_of_another_state_give_no_volts():
    found = ladder(INSTALLATION, taken(vehicle_feed_drop=0.3), State.FAST_IDLE)
    assert found.drop(Run.VEHICLE_FEED).drop_v is None


@given(
    supply=st.floats(11, 15),
    feed=st.floats(0, 1),
    back=st.floats(0, 1),
    amps=st.floats(0, 60),
)
def test_steps_and_input_voltage_always_add_up_to_the_supply(supply, feed, back, amps):
    at_input = supply - feed - back
    found = ladder(
        INSTALLATION,
        taken(
            start_battery_voltage=supply,
            charger_input_voltage=at_input,
            vehicle_return_drop=back,
            input_current=amps,
        ),
        State.IDLE,
    )
    steps = found.drop(Run.VEHICLE_FEED).drop_v + found.drop(Run.VEHICLE_RETURN).drop_v
    assert steps + at_input == pytest.approx(supply)


@given(drop=st.floats(0, 6), more=st.floats(0, 6))
def test_a_larger_drop_is_never_graded_milder(drop, more):
    order = [Grade.AS_EXPECTED, Grade.MARGINAL, Grade.TOO_MUCH, Grade.OPEN]
    less, worse = (
        shown(vehicle_feed_drop=volts, input_current=40).drop(Run.VEHICLE_FEED).grade
        for volts in (0.3 + drop, 0.3 + drop + more)
    )
    assert order.index(worse) >= order.index(less)


ANY = st.dictionaries(
    st.tuples(st.sampled_from(list(Point)), st.sampled_from(list(State))),
    st.floats(-1000, 1000),
    max_size=12,
)


@given(values=ANY, nominal=st.sampled_from([12, 24]), state=st.sampled_from(list(State)))
def test_whatever_was_read_there_is_a_ladder(values, nominal, state):
    readings = [Reading(point=p, state=s, value=value) for (p, s), value in values.items()]
    fitted = INSTALLATION.model_copy(update={"nominal_voltage_v": nominal})
    found = ladder(fitted, readings, state, readings)
    assert [step.run for step in found.drops] == list(Run)[:4]
    assert len(found.rungs) == 7
    assert all(step.low <= step.high for step in found.drops)


def test_a_post_after_one_that_was_not_read_still_has_its_usual_band():
    rungs = {rung.post: rung for rung in shown(house_battery_voltage=13.2).rungs}
    for post in (Post.CHARGER_INPUT, Post.HOUSE_BATTERY_POSITIVE):
        assert rungs[post].low is not None
        assert rungs[post].low < rungs[post].high


# A rule of the trade: with hardly any current a bad joint looks sound.
@pytest.mark.parametrize(("rating", "amperes"), [(20, 1.5), (30, 1.5), (60, 3.0)])
def test_a_drop_tells_something_from_a_twentieth_of_the_rating_or_an_ampere_and_a_half(
    rating, amperes
):
    assert telling_current(rating) == pytest.approx(amperes)
