"""A second unit beside the first: described, walked through, marked on the circuit, by a finger."""

import pytest
from kivy.metrics import dp

from logic.checklist.answers import ReadingAnswer
from logic.vehicle.points import Post
from mobile.ui.widgets.circuit import CircuitView
from tests.equipment import with_everything, with_second_unit
from tests.mobile.callback_scene import Mechanic, bench_with, describe, described
from tests.mobile.driveway import open_job
from tests.mobile.ui.pictures import keep_picture
from tests.mobile.ui.test_set_up_by_touch import type_number
from tests.mobile.ui.test_walk_by_touch import Walk
from tests.mobile.ui.workshop import vehicle_row, write

WALKED = {
    "second_unit_rest_input_voltage": "12.7",
    "second_unit_rest_output_voltage": "13.2",
    "second_unit_idle_output_current": "2.1",
    "second_unit_idle_output_voltage": "13.8",
    "second_unit_idle_input_voltage": "13.5",
}


def test_a_second_unit_is_described_with_runs_of_its_own(phone):
    phone.tap("New vehicle")
    write(phone, "Registration plate", "bee 338")
    phone.tap("Next: equipment")
    page = phone.app.navigator.page
    wanted = {"Which charger?": "40 A, sealed", "Which house battery?": "AGM, 100 Ah"}
    wanted["12 V or 24 V vehicle?"] = "12 V"
    while page.asking:
        phone.tap(wanted.get(page.question, page.otherwise))
    assert not phone.sees("Second unit's runs"), "without a second unit there is no page for it"
    phone.tap("Also fitted")
    type_number(phone, "Second unit beside it: rated output", "40")
    phone.tap("Done")
    phone.tap("Second unit's runs")
    type_number(phone, "Vehicle feed: length", "4.5")
    type_number(phone, "Vehicle feed: fuse or breaker", "60")
    keep_picture(phone, "second_unit_set_up")
    phone.tap("Done")
    assert phone.sees("Second unit's runs")
    assert not page.asking, "what was passed over is asked again after every form"
    keep_picture(phone, "second_unit_equipment")
    assert phone.sees("second unit 40 A"), "a bare 40 A could be anything"
    assert not runs_out_of_its_place(phone), (
        "the second unit's band pushes the circuit over the title"
    )
    phone.tap("Done")
    store = phone.app.work.store
    fitted = store.vehicle(vehicle_row(store, "BEE 338").vehicle_id).installation
    assert fitted.fitted.second_charger_rated_output_current_a == 40
    assert fitted.second_unit_runs.vehicle_feed.length_m == 4.5
    assert fitted.second_unit_runs.vehicle_feed.fuse_a == 60


def runs_out_of_its_place(phone):
    """Tell whether the circuit is drawn higher than the room that the screen gives it."""
    circuit = next(w for w in phone.shown() if isinstance(w, CircuitView))
    return circuit.layout.height > circuit.height / dp(1) + 0.5


@pytest.fixture
def walk(make_phone, tmp_path):
    open_job(tmp_path / "store", with_second_unit())
    return Walk(make_phone)


def test_a_second_unit_is_read_in_both_states_and_a_lazy_one_is_named(walk):
    walk.at("idle_output_current")
    walk.key("4", "1")
    walk.next()
    walk.at("idle_charger_output_voltage")
    walk.key("1", "3", ".", "6")
    walk.next()
    for step, value in WALKED.items():
        walk.at(step)
        layout = walk.screen._circuit.layout
        assert Post.SECOND_UNIT_INPUT in layout.posts
        keep_picture(walk.finger, step)
        walk.key(*value)
        if step == "second_unit_idle_output_current":
            assert walk.remark.startswith("Out of range")
            assert "the first unit gives 41" in walk.remark
            keep_picture(walk.finger, f"{step}_judged")
        walk.next()
        assert walk.stored(step) == ReadingAnswer(value=float(value), typed=value)


def test_the_walk_of_one_unit_has_none_of_it(make_phone, tmp_path):
    open_job(tmp_path / "store")
    steps = {step.id for step in Walk(make_phone).in_hand.steps}
    beside = ("second_unit", "parallel", "isolators", "other_chargers", "idle_monitor")
    assert not [step for step in steps if step.startswith(beside)]


def test_whatever_is_fitted_the_circuit_shows_it_and_its_marks(make_phone, tmp_path):
    open_job(tmp_path / "store", with_everything())
    walk = Walk(make_phone)
    for step in ("idle_first_parallel_current", "idle_monitor_current", "isolators_carry_it"):
        walk.at(step)
        keep_picture(walk.finger, f"everything_{step}")
    assert walk.finger.sees("continuous")


def test_a_touch_on_the_second_units_posts_and_clamp_begins_their_readings(make_phone, tmp_path):
    second = {
        "fitted": {"second_charger_rated_output_current_a": 40, "house_isolator": True},
        "second_unit_runs": described()["runs"],
    }
    vehicle_id = describe(tmp_path / "store", {**described(), **second})
    mechanic = Mechanic(make_phone(), bench_with("no_fault", described(), seed=1))
    mechanic.begin(vehicle_id, "Never charges")
    phone = mechanic.phone
    keep_picture(phone, "second_unit_callback")
    for places, title in (
        (("post second_unit_input", "post second_unit_negative"), "Second unit, input · Idle"),
        (("post second_unit_output", "post second_unit_negative"), "Second unit, output · Idle"),
        (("clamp second_house_feed",), "Second unit's output current · Idle"),
    ):
        for place in places:
            # It lies under the first one's circuit, where a thumb has scrolled to.
            phone.app.navigator.page.ids.scroll.scroll_y = 0
            phone.frames(3)
            phone.tap(phone.app.navigator.page.ids.circuit.middle_of(*place.split()))
            phone.rest(0.5)  # a list hands a touch on only after its delay
        assert phone.sees(title)
        keep_picture(phone, f"callback_{places[0].split()[1]}")
        phone.press_back()
