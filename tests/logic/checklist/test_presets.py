import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logic.checklist.form import load
from logic.checklist.presets import Group, Preset, apply, offered, replaced_sections
from logic.circuit.design import design_checks
from logic.vehicle.installation import Installation
from logic.vehicle.points import LOOP, Run
from tests.paths import CHECKLISTS

PRESETS = load(CHECKLISTS).presets
BY_ID = {preset.id: preset for group in PRESETS.values() for preset in group}


def described(*ids, draft=None):
    draft = draft or {}
    for preset_id in ids:
        draft = apply(BY_ID[preset_id], draft)
    return draft


def test_eight_taps_describe_a_usual_job_completely():
    draft = described(
        "charger_12v_25a_sealed",
        "house_agm_100ah",
        "start_flooded_70ah",
        "alternator_variable_150a",
        "layout_tray_body_return",
        "cable_awg_6",
        "insulation_105c_pair",
        "meter_ordinary",
    )
    installation = Installation.model_validate(draft)
    runs = installation.runs
    loop = (runs.vehicle_feed, runs.vehicle_return, runs.house_feed, runs.house_return)
    assert all(run.length_m and run.area_mm2 and run.joints for run in loop)
    # By hand: 25 A x 14.4 V / (0.9 x 12 V) = 33 A in, 41.7 A at four fifths; 25 A out, 31 A.
    assert (runs.vehicle_feed.fuse_a, runs.house_feed.fuse_a) == (50, 40)
    assert (runs.vehicle_feed.insulation_c, runs.house_return.bundled_cables) == (105, 2)
    assert runs.vehicle_return.fuse_a is None
    assert installation.charger.absorption_voltage_v == 14.4
    assert installation.location == installation.house_battery.location == "tray"


# 24 V vehicles carry two 12 V batteries in series: every profile voltage is twice the 12 V one
@pytest.mark.parametrize(
    "order",
    [
        ("charger_24v_20a_sealed", "house_agm_100ah"),
        ("house_agm_100ah", "charger_24v_20a_sealed"),
        ("charger_12v_25a_sealed", "house_agm_100ah", "charger_24v_20a_sealed"),
    ],
)
def test_a_24_volt_vehicle_gets_doubled_profile_volts_in_whatever_order_it_is_described(order):
    draft = described(*order)
    assert draft["nominal_voltage_v"] == 24
    assert draft["charger"]["absorption_voltage_v"] == 28.8
    assert draft["charger"]["float_voltage_v"] == 27.0
    assert draft["house_battery"]["capacity_ah"] == 100


def test_going_back_to_12_volts_halves_them_again():
    draft = described("charger_24v_20a_sealed", "house_agm_100ah", "charger_12v_25a_sealed")
    assert draft["charger"]["absorption_voltage_v"] == 14.4


def test_another_battery_takes_the_place_of_the_one_before():
    draft = described("house_lifepo4_100ah", "house_agm_100ah")
    assert "min_charge_temperature_c" not in draft["house_battery"]
    assert draft["house_battery"] == {"chemistry": "agm", "capacity_ah": 100}


def test_what_belongs_to_the_vehicle_stays_when_its_battery_is_changed():
    start = {"chemistry": "flooded", "capacity_ah": 60, "sensor_on_negative": True}
    draft = described("layout_tray_body_return", draft={"start_battery": start})
    draft = apply(BY_ID["start_agm_80ah"], apply(BY_ID["house_agm_100ah"], draft))
    assert draft["house_battery"]["location"] == "tray"
    assert draft["start_battery"]["sensor_on_negative"] is True
    assert draft["start_battery"]["chemistry"] == "agm"


# Thresholds differ from unit to unit, and what a battery allows is its maker's to say.
def test_no_preset_fills_in_what_only_the_makers_papers_say():
    for preset in BY_ID.values():
        fills = preset.fills.model_dump(exclude_unset=True)
        assert not {name for name in fills.get("charger", {}) if "start" in name or "stop" in name}
        assert "ignition_signal_min_v" not in fills.get("charger", {})
        asked = {"max_charge_current_a", "absorption_voltage_v"}
        assert not asked & set(fills.get("house_battery", {}))


# By hand: rating x 14.4 V / (0.9 x 12 V) into the unit, rating out of it; at 24 V on both sides
# twice the volts and half the amperes cancel, stepping up or down they do not. Four fifths of a
# link last (see test_sizing).
@pytest.mark.parametrize("charger", PRESETS[Group.CHARGERS], ids=lambda preset: preset.id)
def test_the_fuses_of_a_charger_preset_are_loaded_to_four_fifths_at_most(charger):
    rated = charger.fills.charger.rated_output_current_a
    runs = charger.fills.runs
    ratio = (charger.fills.output_nominal_voltage_v or charger.fills.nominal_voltage_v) / (
        charger.fills.nominal_voltage_v
    )
    assert rated * ratio * 14.4 / (0.9 * 12) <= 0.8 * runs.vehicle_feed.fuse_a
    assert rated <= 0.8 * runs.house_feed.fuse_a


def test_a_battery_is_described_anew_but_a_charger_and_the_runs_are_not():
    assert replaced_sections(BY_ID["house_agm_100ah"]) == {"house_battery"}
    assert replaced_sections(BY_ID["panel_200w_12v"]) == {"solar"}
    assert replaced_sections(BY_ID["charger_12v_40a_sealed"]) == frozenset()
    assert replaced_sections(BY_ID["layout_tray_body_return"]) == frozenset()


def test_another_charger_keeps_what_was_entered_by_hand():
    by_hand = {"charger": {"profile_note": "set by its instructions", "input_current_limit_a": 30}}
    draft = described("charger_12v_40a_unsealed", draft=by_hand)
    assert draft["charger"]["profile_note"] == "set by its instructions"
    assert draft["charger"]["input_current_limit_a"] == 30
    assert draft["charger"]["rated_output_current_a"] == 40


# By hand: 14.4 V a 12 V AGM battery, 28.8 V two in series.
@pytest.mark.parametrize(
    ("charger", "absorption"),
    [
        ("charger_24v_20a_sealed", 28.8),
        ("charger_24v_to_12v_20a_sealed", 14.4),
        ("charger_12v_40a_sealed", 14.4),
        ("charger_12v_to_24v_15a_sealed", 28.8),
    ],
)
def test_the_profile_is_of_the_house_sides_voltage_in_whichever_order(charger, absorption):
    for chosen in ((charger, "house_agm_100ah"), ("house_agm_100ah", charger)):
        found = described(*chosen)["charger"]["absorption_voltage_v"]
        assert found == pytest.approx(absorption, abs=0.21)  # presets ask for 14.2 to 14.7 V


def test_another_charger_has_its_own_voltage_on_the_house_side():
    stepping = described("charger_24v_to_12v_20a_sealed")
    assert stepping["output_nominal_voltage_v"] == 12
    plain = described("charger_24v_to_12v_20a_sealed", "charger_24v_20a_sealed")
    assert Installation.model_validate(plain | BATTERY).house_scale == 2


BATTERY = {"house_battery": {"chemistry": "agm"}}


def test_what_two_start_batteries_make_is_offered_by_the_vehicles_voltage():
    second = {
        volts: {
            one.fills.start_battery.second
            for one in offered(PRESETS, Group.START_BATTERIES, volts)
            if one.fills.start_battery.second
        }
        for volts in (12, 24)
    }
    assert second == {12: {"parallel"}, 24: {"series"}}


def test_a_cable_goes_only_to_the_runs_chosen_and_keeps_their_lengths():
    draft = described("layout_tray_body_return")
    thick = apply(BY_ID["cable_16mm2"], draft, runs=[Run.VEHICLE_FEED])
    assert thick["runs"]["vehicle_feed"]["area_mm2"] == 16
    assert thick["runs"]["vehicle_feed"]["length_m"] == 5
    assert "area_mm2" not in thick["runs"]["house_feed"]


def test_auto_cable_is_stored_as_its_copper_and_as_how_it_was_stated():
    run = described("cable_auto_6mm")["runs"]["vehicle_feed"]
    assert run == {"area_mm2": 4.59, "stated": {"stated_as": "auto_cable_mm", "size": "6"}}


def test_chargers_of_the_other_voltage_are_not_offered():
    for volts in (12, 24):
        fills = [preset.fills for preset in offered(PRESETS, Group.CHARGERS, volts)]
        assert fills
        assert {one.nominal_voltage_v for one in fills} == {volts}
    assert len(offered(PRESETS, Group.CHARGERS, None)) == len(PRESETS[Group.CHARGERS])


def test_applying_leaves_the_draft_as_it_was():
    draft = {"runs": {"vehicle_feed": {"length_m": 4.0}}}
    apply(BY_ID["cable_16mm2"], draft)
    assert draft == {"runs": {"vehicle_feed": {"length_m": 4.0}}}


@pytest.mark.parametrize("charger", PRESETS[Group.CHARGERS], ids=lambda preset: preset.id)
def test_no_charger_preset_contradicts_the_design_checks_on_its_fuses_and_place(charger):
    place = "layout_cabin_behind_seat"  # suits sealed and unsealed units alike
    draft = described(charger.id, "house_lifepo4_200ah", place, "cable_25mm2")
    checks = design_checks(Installation.model_validate(draft))
    assert checks
    assert [check.text for check in checks if check.passed is False] == []


def test_a_voltage_left_as_not_known_stays_so():
    draft = {"nominal_voltage_v": 12, "charger": {"absorption_voltage_v": None}}
    after = described("charger_24v_20a_sealed", draft=draft)
    assert after["charger"]["absorption_voltage_v"] is None


choices = st.lists(st.sampled_from(list(BY_ID.values())), max_size=8)


@settings(max_examples=100, deadline=None)
@given(choices)
def test_presets_in_any_order_describe_a_valid_installation(chosen: list[Preset]):
    draft = {
        "charger": {"rated_output_current_a": 25},
        "house_battery": {"chemistry": "agm", "capacity_ah": 100},
    }
    for preset in chosen:
        draft = apply(preset, draft, LOOP)
    Installation.model_validate(draft)


@settings(max_examples=100, deadline=None)
@given(st.sampled_from(list(BY_ID.values())), choices)
def test_the_same_preset_twice_is_the_same_as_once(preset: Preset, before: list[Preset]):
    draft: dict[str, object] = {}
    for one in before:
        draft = apply(one, draft)
    once = apply(preset, draft)
    assert apply(preset, once) == once
