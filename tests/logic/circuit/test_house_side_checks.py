"""Design checks beside one unit: the second unit's runs, parallel batteries, isolators, others."""

from dataclasses import replace

import pytest

from logic.circuit.design import design_checks
from logic.vehicle.installation import CableRun, SecondUnitRuns, TakeOff
from tests.equipment import (
    RUNS,
    plain,
    with_batteries_in_parallel,
    with_everything,
    with_fitted,
    with_second_unit,
)


def checks(installation):
    return {check.rule_id: check for check in design_checks(installation)}


def test_beside_one_unit_alone_nothing_more_is_checked():
    beside = ("second_unit", "parallel", "isolator", "other_sources")
    assert not [rule for rule in checks(plain()) if rule.startswith(beside)]


def test_a_second_unit_alike_is_judged_like_the_first():
    found = checks(with_second_unit(40.0))
    of_second = {rule: one for rule, one in found.items() if rule.startswith("second_unit_")}
    assert len(of_second) >= 8
    for rule, one in of_second.items():
        first = found[rule.removeprefix("second_unit_")]
        assert replace(one, rule_id=first.rule_id, title=first.title) == first
        assert one.title.startswith("Second unit: ")
        assert one.rule == first.rule


def test_a_thin_feed_of_the_second_unit_fails_and_the_first_ones_does_not():
    thin = CableRun(length_m=6.0, area_mm2=4.0, joints=4, fuse_a=60.0)
    runs = SecondUnitRuns(**{**RUNS, "vehicle_feed": thin})
    found = checks(with_second_unit().model_copy(update={"second_unit_runs": runs}))
    for rule in ("vehicle_feed_drop", "vehicle_feed_fuse_protects_cable"):
        assert found[f"second_unit_{rule}"].passed is False
        assert found[rule].passed is not False


def test_without_its_runs_they_are_asked_for():
    bare = with_second_unit().model_copy(update={"second_unit_runs": None})
    found = checks(bare)["second_unit_runs"]
    assert found.passed is None
    assert "Describe them" in found.right


# By hand: 40 A + 40 A = 80 A of the 100 A that the battery takes; 40 A + 80 A is over.
@pytest.mark.parametrize(("rating", "passed"), [(40.0, True), (60.0, True), (80.0, False)])
def test_the_currents_of_both_units_add(rating, passed):
    found = checks(with_second_unit(rating))["charge_current"]
    assert found.passed is passed
    assert f"{40 + rating:g} A from both units" in found.text


# Common practice, no published source: the leads leave batteries in parallel at opposite ends.
@pytest.mark.parametrize(
    ("take_off", "passed"),
    [(TakeOff.DIAGONAL, True), (TakeOff.BUSBARS, True), (TakeOff.ONE_END, False), (None, None)],
)
def test_the_leads_leave_four_batteries_at_opposite_ends(take_off, passed):
    four = with_batteries_in_parallel(4)
    battery = four.house_battery.model_copy(update={"take_off": take_off})
    found = checks(four.model_copy(update={"house_battery": battery}))["parallel_take_off"]
    assert found.passed is passed
    assert bool(found.right) is (passed is not True)


def test_a_lithium_battery_in_parallel_is_fused_by_itself():
    assert "a fuse for each battery" in checks(with_batteries_in_parallel())["parallel_alike"].right


def test_an_isolator_has_to_carry_full_load_and_the_maker_decides_on_opening_it():
    found = checks(with_fitted(vehicle_isolator=True, house_isolator=True))
    assert "continuous" in found["vehicle_isolator"].right
    assert "40 A" in found["house_isolator"].text
    assert "maker's instructions decide" in found["house_isolator"].right


def test_what_else_charges_the_battery_is_added_up():
    found = checks(with_fitted(mains_charger=True, solar_regulator=True))["other_sources"]
    assert "What the separate regulator and the mains charger give" in found.text
    assert "100 A" in found.text
    alone = checks(with_fitted(mains_charger=True))["other_sources"]
    assert "What the mains charger gives adds" in alone.text


def test_every_check_has_its_rule_and_its_source():
    for one in design_checks(with_everything()):
        assert one.rule
        assert one.source
