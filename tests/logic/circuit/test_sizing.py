import pytest
from hypothesis import given
from hypothesis import strategies as st

from logic.circuit.conductors import area_of_auto_cable
from logic.circuit.sizing import design_checks
from logic.vehicle.installation import (
    Alternator,
    CableRun,
    Charger,
    ConductorSize,
    Fitted,
    HouseBattery,
    Installation,
    Location,
    Runs,
    Solar,
)
from tests.installations import installations


def usual(rated=25.0, fuse=40.0, chemistry="agm", capacity=100.0, **also):
    cable = CableRun(length_m=2.0, area_mm2=13.3, joints=3)
    fused = cable.model_copy(update={"fuse_a": fuse})
    return Installation(
        charger=Charger(rated_output_current_a=rated, **also),
        house_battery=HouseBattery(chemistry=chemistry, capacity_ah=capacity),
        runs=Runs(vehicle_feed=fused, vehicle_return=cable, house_feed=fused, house_return=cable),
    )


def check(installation, rule_id):
    return {c.rule_id: c for c in design_checks(installation)}[rule_id]


# Common practice, no published source: 40 A for a 25 A unit, 60 A for 40 and 50 A units.
@pytest.mark.parametrize(
    ("rated", "fuse", "passed"),
    [
        (25, 40, True),
        (40, 60, True),
        (50, 60, True),
        (40, 40, False),
        (25, 60, False),
        (33, 40, None),
        (25, None, None),
    ],
)
def test_fuses_are_held_against_the_rule_of_thumb(rated, fuse, passed):
    found = check(usual(rated, fuse), "usual_fuse")
    assert found.passed is passed
    assert "common practice" in found.source


@pytest.mark.parametrize(("rated", "fuse"), [(25, 40), (40, 60), (50, 60)])
def test_the_usual_fuse_does_not_open_at_full_load(rated, fuse):
    for run in ("vehicle_feed", "house_feed"):
        assert check(usual(rated, fuse), f"{run}_fuse_carries_full_load").passed is True


# UL 248-14: opens within an hour at 135 %.
def test_a_fuse_under_full_load_is_told():
    found = check(usual(50, 40), "vehicle_feed_fuse_carries_full_load")
    assert found.passed is False
    assert "40 A fuse" in found.text


def test_a_fuse_that_its_cable_cannot_carry_is_told_with_both_numbers():
    thin = CableRun(length_m=2, area_mm2=5.26, fuse_a=60)
    installation = usual().model_copy(update={"runs": Runs(vehicle_feed=thin)})
    found = check(installation, "vehicle_feed_fuse_protects_cable")
    assert found.passed is False
    assert "60 A fuse on 5.26 mm²" in found.text
    assert "51 A" in found.text  # 60 A x 0.85 in an engine space: 33 CFR 183.425


# Common practice, no published source: the trade's rules of thumb on charge current.
@pytest.mark.parametrize(
    ("chemistry", "capacity", "rated", "place", "passed"),
    [
        ("agm", 100, 25, Location.ENGINE_BAY, True),
        ("agm", 100, 40, Location.ENGINE_BAY, False),
        ("agm", 50, 40, Location.CABIN, False),
        ("flooded", 50, 40, Location.CABIN, False),
        ("gel", 50, 40, Location.CABIN, False),
        ("lifepo4", 50, 40, Location.CABIN, False),
        ("lifepo4", 100, 40, Location.CABIN, True),
    ],
)
def test_charge_current_agrees_with_the_rules_of_thumb(chemistry, capacity, rated, place, passed):
    installation = usual(rated, 60, chemistry, capacity).model_copy(update={"location": place})
    assert check(installation, "charge_current").passed is passed


def test_the_battery_makers_figure_wins_over_the_rule_of_thumb():
    battery = HouseBattery(chemistry="agm", capacity_ah=50, max_charge_current_a=40)
    installation = usual(40).model_copy(update={"house_battery": battery})
    assert check(installation, "charge_current").passed is True


def test_a_second_unit_adds_to_what_the_battery_and_the_alternator_must_stand():
    both = usual(25).model_copy(
        update={
            "fitted": Fitted(second_charger_rated_output_current_a=25),
            "alternator": Alternator(rated_current_a=100),
        }
    )
    alone = both.model_copy(update={"fitted": Fitted()})
    for rule in ("charge_current", "alternator_share"):
        assert check(alone, rule).passed is True
        assert check(both, rule).passed is False
    assert "both units" in check(both, "charge_current").text


def test_an_input_limit_spares_a_small_alternator():
    small = {"alternator": Alternator(control="fixed", rated_current_a=70)}
    assert check(usual(50).model_copy(update=small), "alternator_share").passed is False
    limited = usual(50, input_current_limit_a=30).model_copy(update=small)
    assert check(limited, "alternator_share").passed is True


# IEC 60529 numerals; which a place needs is common practice, no published source.
@pytest.mark.parametrize(
    ("code", "place", "passed"),
    [
        ("IP67", Location.ENGINE_BAY, True),
        ("IP65", Location.TRAY, True),
        ("IP20", Location.ENGINE_BAY, False),
        ("IP52", Location.TRAILER, False),
        ("IP20", Location.CABIN, True),
        ("IPX7", Location.TRAY, None),
        (None, Location.TRAY, None),
        ("IP67", None, None),
    ],
)
def test_the_code_must_fit_the_place(code, place, passed):
    installation = usual(ingress_protection=code).model_copy(update={"location": place})
    assert check(installation, "sealing").passed is passed


# IEC 60529: numerals up to 6 imply all lower ones; 7 says nothing of jets.
def test_immersion_does_not_promise_jets():
    installation = usual(ingress_protection="IP67").model_copy(update={"location": Location.TRAY})
    assert "jets" in check(installation, "sealing").text


@pytest.mark.parametrize(
    ("most", "place", "passed"),
    [
        (70, "engine_bay", True),
        (50, "engine_bay", False),
        (50, "cabin", True),
        (None, "cabin", None),
    ],
)
def test_the_place_must_be_cool_enough(most, place, passed):
    installation = usual(max_ambient_c=most).model_copy(update={"location": Location(place)})
    assert check(installation, "heat").passed is passed


# NEC Table 690.7: 22.0 V becomes 25.08 V at -10 °C.
@pytest.mark.parametrize(("most", "passed"), [(25.0, False), (25.1, True), (None, None)])
def test_the_cold_panel_must_stay_under_what_the_unit_takes(most, passed):
    panel = Solar(open_circuit_voltage_v=22.0)
    installation = usual(solar_max_voltage_v=most).model_copy(update={"solar": panel})
    found = check(installation, "cold_panel")
    assert found.passed is passed
    assert passed is None or "25.08 V" in found.text


def test_without_a_panel_its_cold_voltage_is_not_asked_for():
    assert "cold_panel" not in {c.rule_id for c in design_checks(usual())}


@pytest.mark.parametrize(
    ("profile", "asked", "passed"),
    [
        (14.6, 14.6, True),
        (14.6, 14.5, True),
        (14.4, 14.6, False),
        (14.6, 14.2, False),
        (14.4, None, True),
        (15.5, None, False),
        (None, 14.6, None),
    ],
)
def test_the_profile_is_held_against_what_the_battery_asks_for(profile, asked, passed):
    battery = HouseBattery(chemistry="agm", capacity_ah=100, absorption_voltage_v=asked)
    installation = usual(absorption_voltage_v=profile).model_copy(update={"house_battery": battery})
    assert check(installation, "profile").passed is passed


@pytest.mark.parametrize(
    ("control", "figures", "passed", "words"),
    [
        ("variable", {"ignition_signal_min_v": 8.0}, True, "Prove it dead"),
        ("variable", {}, None, "needs an ignition signal"),
        ("unknown", {}, None, "not known"),
        ("fixed", {"start_voltage_v": 13.2}, True, "13.2 V"),
        ("fixed", {"start_voltage_v": 14.2}, False, "Wire its trigger terminal"),
        ("fixed", {}, None, "not known"),
    ],
)
def test_the_unit_must_start_with_this_alternator(control, figures, passed, words):
    installation = usual(**figures).model_copy(update={"alternator": Alternator(control=control)})
    found = check(installation, "start_signal")
    assert found.passed is passed
    assert words in found.text


@pytest.mark.parametrize(
    ("start", "stop", "passed"), [(13.2, 12.7, True), (12.7, 13.2, False), (None, 12.7, None)]
)
def test_a_stop_voltage_over_the_start_voltage_is_a_wrong_entry(start, stop, passed):
    found = check(usual(start_voltage_v=start, stop_voltage_v=stop), "thresholds")
    assert found.passed is passed


@given(installations())
def test_every_check_names_rule_numbers_and_source_and_none_is_there_twice(installation):
    checks = design_checks(installation)
    assert len({c.rule_id for c in checks}) == len(checks)
    for c in checks:
        assert c.title
        assert c.source
        assert c.text.endswith(".")
        assert c.passed in (True, False, None)


@given(
    installations(),
    st.sampled_from(["vehicle_feed", "vehicle_return", "house_feed", "house_return"]),
    st.floats(1.0, 4.0),
)
def test_a_thicker_cable_never_fails_a_check_that_the_thinner_one_passed(installation, run, factor):
    cable = getattr(installation.runs, run)
    if cable.area_mm2 is None:
        return
    thicker = cable.model_copy(update={"area_mm2": cable.area_mm2 * factor})
    runs = installation.runs.model_copy(update={run: thicker})
    after = {
        c.rule_id: c.passed for c in design_checks(installation.model_copy(update={"runs": runs}))
    }
    for before in design_checks(installation):
        assert not (before.passed is True and after[before.rule_id] is False)


def side(feed, back, rated=40.0):
    cables = [CableRun(length_m=length, area_mm2=13.3, joints=3, fuse_a=60) for length in feed]
    returns = [CableRun(length_m=length, area_mm2=13.3, joints=3) for length in back]
    runs = Runs(
        vehicle_feed=cables[0],
        vehicle_return=returns[0],
        house_feed=cables[-1],
        house_return=returns[-1],
    )
    return usual(rated, 60).model_copy(update={"runs": runs})


# Limits: automotive handbook, charging cable 0.4 V; SAE guidance, cable 0.2 V. That what one saves
# the other may lose: common practice, no published source.
def test_a_return_as_long_as_its_feed_is_judged_out_and_back():
    found = check(side([4.5], [4.5]), "house_return_drop")
    assert found.passed is True
    assert "0.2 V at most is usual in a return" in found.text
    assert "Out and back, with the house feed, it is 0.60 V of the 0.6 V" in found.text


def test_a_way_too_long_in_all_is_told_with_the_size_that_is_sold():
    found = check(side([6.0], [6.0]), "house_return_drop")
    assert found.passed is False
    assert "Shorten it, or fit at least 27 mm² (sold: 35 mm²)." in found.text


def test_where_the_feed_is_not_known_its_return_is_held_to_its_own_limit():
    runs = Runs(house_return=CableRun(length_m=4.5, area_mm2=13.3))
    found = check(usual(40).model_copy(update={"runs": runs}), "house_return_drop")
    assert found.passed is False
    assert "Out and back" not in found.text


# Sellers' tables: cable sold as 6 mm holds 4.59 mm² of copper, not 6.
def test_auto_cable_is_told_by_its_copper_and_by_what_it_was_sold_as():
    sold = CableRun(
        length_m=5,
        area_mm2=area_of_auto_cable("6"),
        fuse_a=40,
        stated=ConductorSize(stated_as="auto_cable_mm", size="6"),
    )
    installation = usual(25).model_copy(update={"runs": Runs(vehicle_feed=sold)})
    for rule in ("vehicle_feed_fuse_protects_cable", "vehicle_feed_drop"):
        found = check(installation, rule)
        assert found.passed is False
        assert "4.59 mm² (6 mm auto cable)" in found.text


# Common practice, no published source: at most 25 A into 100 Ah of AGM under the bonnet.
def test_under_the_bonnet_the_rule_is_named_and_the_makers_figure_asked_for():
    installation = usual(40, 60).model_copy(update={"location": Location.ENGINE_BAY})
    found = check(installation, "charge_current")
    assert "up to 25 A under the bonnet" in found.text
    assert "Look that figure up" in found.text
    assert "common practice" in found.source


# Common practice, no published source: fuse as usual, not so small that it opens, nor larger than
# the cable carries.
def test_an_unusual_fuse_is_told_what_it_risks():
    assert "may open" in check(usual(40, 40), "usual_fuse").text
    assert "cable" in check(usual(25, 60), "usual_fuse").text


# Common practice, no published source: two units share one alternator; the limit is one unit's own.
def test_two_units_with_one_limit_count_the_second_in_full():
    limited = usual(25, input_current_limit_a=15).model_copy(
        update={
            "fitted": Fitted(second_charger_rated_output_current_a=25),
            "alternator": Alternator(rated_current_a=80),
        }
    )
    found = check(limited, "alternator_share")
    assert found.passed is False
    assert "draws up to 44 A" in found.text
