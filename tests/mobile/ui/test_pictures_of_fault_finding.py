"""Every screen of fault-finding at both sizes and font scales, light and dark: can it be read?"""

from pathlib import Path

import pytest
from kivy.metrics import dp

import logic
from logic.case import Reading
from logic.records.events import CauseConcluded, Event, ReadingTaken
from logic.records.store.store import Store
from logic.vehicle.points import Point, Post, State
from mobile.jobs import job_in_hand
from mobile.jobs.job_start import begin_callback
from mobile.jobs.workplace import system_clock
from mobile.ui.theme import theme
from tests.diagnoses import FEED_DROP, HOUSE_DROP, hiding, nothing_listed, offered
from tests.mobile.callback_scene import describe, described, library
from tests.mobile.ui.legibility import complaints, small_targets
from tests.mobile.ui.looks import LOOKS, Look, take_on
from tests.mobile.ui.pictures import keep_picture

# A return gone bad, with one slipped decimal: values by hand, from 30 A through 45 milliohms.
BEFORE = {
    (Point.START_BATTERY_VOLTAGE, State.REST): 12.64,
    (Point.HOUSE_BATTERY_VOLTAGE, State.REST): 12.31,
    (Point.START_BATTERY_VOLTAGE, State.IDLE): 13.94,
    (Point.CHARGER_INPUT_VOLTAGE, State.IDLE): 12.28,
    (Point.VEHICLE_RETURN_DROP, State.IDLE): 1.352,
    (Point.INPUT_CURRENT, State.IDLE): 30.1,
    (Point.IGNITION_SIGNAL_VOLTAGE, State.IDLE): 12.21,
    (Point.CHARGER_OUTPUT_VOLTAGE, State.IDLE): 13.21,
    (Point.HOUSE_BATTERY_VOLTAGE, State.IDLE): 12.93,
    (Point.OUTPUT_CURRENT, State.IDLE): 2.52,
    (Point.CHARGER_CASE_TEMPERATURE, State.IDLE): 41.0,
}
AFTER = {
    (Point.VEHICLE_RETURN_DROP, State.IDLE): 0.121,
    (Point.INPUT_CURRENT, State.IDLE): 43.9,
}
BASELINE = {
    (Point.START_BATTERY_VOLTAGE, State.IDLE): 14.05,
    (Point.CHARGER_INPUT_VOLTAGE, State.IDLE): 13.55,
    (Point.VEHICLE_RETURN_DROP, State.IDLE): 0.118,
    (Point.INPUT_CURRENT, State.IDLE): 44.2,
    (Point.OUTPUT_CURRENT, State.IDLE): 41.0,
    (Point.HOUSE_BATTERY_VOLTAGE, State.IDLE): 13.1,
    (Point.CHARGER_OUTPUT_VOLTAGE, State.IDLE): 13.4,
}
TWO_LOOKS = [(LOOKS[0], False), (LOOKS[1], True), (LOOKS[2], True), (LOOKS[3], False)]


def readings(values, when):
    return [
        ReadingTaken(reading=Reading(point=point, state=state, value=value), when=when)
        for (point, state), value in values.items()
    ]


def open_job(folder: Path, *, repaired: bool, solar: bool) -> str:
    vehicle_id = describe(folder, described(solar=solar), plate="BEE 338")
    with Store.open(folder) as store:
        job_id = begin_callback(
            store,
            library(),
            vehicle_id,
            system_clock(),
            ["charges_slowly"],
            "Fridge off by morning",
        )
        bodies = readings(BEFORE, "before")
        if repaired:
            bodies.append(
                CauseConcluded(
                    faults=("vehicle_return_resistive",),
                    cause="Paint under the earth lug",
                    repair="Cleaned to bright metal, new lug, sealed",
                    responsibility="wiring",
                )
            )
            bodies += readings(AFTER, "after")
        store.append_all(Event(vehicle_id=vehicle_id, job_id=job_id, body=body) for body in bodies)
    return job_id


@pytest.fixture
def dark(request):
    yield request.param
    theme.dark = False


@pytest.fixture
def as_commissioned(monkeypatch):
    taken = tuple(
        Reading(point=point, state=state, value=value) for (point, state), value in BASELINE.items()
    )
    monkeypatch.setattr(job_in_hand, "commissioned", lambda _store, _vehicle: taken)


def look_at(phone, name: str, tag: str) -> None:
    theme.dark = "dark" in tag
    phone.frames(4)
    keep_picture(phone, f"{tag}-{name}")
    assert complaints() == [], name
    assert small_targets(48) == [], name


def touch(phone, post: Post) -> None:
    page = phone.app.navigator.page
    page.touched(next(one for one in page.ids.circuit.layout.targets() if one.what is post))


def show(phone, screen: str, job_id: str) -> None:
    phone.app.navigator.show(screen, job_id=job_id)
    phone.until(lambda: not phone.app.work.callback.is_thinking, 60)
    phone.frames(3)


@pytest.mark.parametrize(("look", "dark"), TWO_LOOKS, indirect=["dark"], ids=str)
@pytest.mark.usefixtures("as_commissioned")
def test_before_the_repair_all_can_be_read_and_tapped(make_phone, tmp_path, look: Look, dark):
    job_id = open_job(tmp_path / "store", repaired=False, solar=look.screen.height > 800)
    phone = make_phone(look)
    tag = f"{look}-{'dark' if dark else 'light'}"
    show(phone, "circuit", job_id)
    for state in ("Key off", "Idle"):
        phone.tap(state)
        look_at(phone, f"1-circuit-{state}", tag)
    touch(phone, Post.CHARGER_OUTPUT)
    look_at(phone, "2-circuit-chosen", tag)
    touch(phone, Post.CHARGER_NEGATIVE)
    look_at(phone, "3-entry", tag)
    phone.press_back()
    for screen in ("findings", "ladder", "compared", "repair"):
        show(phone, screen, job_id)
        look_at(phone, f"4-{screen}", tag)
        phone.app.navigator.page.ids.body.scroll_y = 0
        look_at(phone, f"4-{screen}-end", tag)
    take_on(Look())


@pytest.mark.parametrize(("look", "dark"), TWO_LOOKS, indirect=["dark"], ids=str)
def test_after_the_repair_all_can_be_read_and_tapped(make_phone, tmp_path, look: Look, dark):
    job_id = open_job(tmp_path / "store", repaired=True, solar=False)
    phone = make_phone(look)
    tag = f"{look}-{'dark' if dark else 'light'}"
    show(phone, "circuit", job_id)
    look_at(phone, "5-proving", tag)
    show(phone, "closing", job_id)
    for place in (1, 0.6, 0.3, 0):
        phone.app.navigator.page.ids.body.scroll_y = place
        look_at(phone, f"6-closing-{place}", tag)


@pytest.mark.parametrize(("look", "dark"), TWO_LOOKS, indirect=["dark"], ids=str)
def test_the_beginning_can_be_read_and_tapped(make_phone, tmp_path, look: Look, dark):
    vehicle_id = describe(tmp_path / "store", described())
    phone = make_phone(look)
    tag = f"{look}-{'dark' if dark else 'light'}"
    phone.app.navigator.show("quick_check")
    look_at(phone, "0-quick-check", tag)
    phone.app.navigator.show("callback", vehicle_id=vehicle_id)
    phone.frames(3)
    phone.tap("Charges slowly")
    look_at(phone, "0-callback", tag)
    phone.app.navigator.page.ids.body.scroll_y = 0
    look_at(phone, "0-callback-end", tag)


@pytest.mark.parametrize(("look", "dark"), TWO_LOOKS, indirect=["dark"], ids=str)
def test_what_no_listed_fault_explains_can_be_read_and_tapped(
    make_phone, tmp_path, monkeypatch, look: Look, dark
):
    said = nothing_listed(0.62, next_readings=offered([FEED_DROP, HOUSE_DROP]))
    monkeypatch.setitem(logic.__dict__, "diagnose", lambda case: said)
    job_id = open_job(tmp_path / "store", repaired=False, solar=False)
    phone = make_phone(look)
    tag = f"{look}-{'dark' if dark else 'light'}"
    show(phone, "circuit", job_id)
    look_at(phone, "7-unlisted-circuit", tag)
    cannot = phone.app.navigator.page.ids.pane.children[0].ids.cannot
    assert min(cannot.size) >= dp(56)
    phone.tap(cannot)
    phone.until(lambda: not phone.app.work.callback.is_thinking, 60)
    look_at(phone, "7-unlisted-left-out", tag)
    phone.tap("More")
    look_at(phone, "7-unlisted-more", tag)
    phone.tap("1 reading out of reach")
    look_at(phone, "7-unlisted-reach", tag)
    phone.press_back()
    phone.app.work.callback.cannot_reach(*HOUSE_DROP)
    show(phone, "circuit", job_id)
    look_at(phone, "7-unlisted-enough", tag)
    for screen in ("findings", "repair"):
        show(phone, screen, job_id)
        for place in (1, 0.5, 0):
            phone.app.navigator.page.ids.body.scroll_y = place
            look_at(phone, f"7-unlisted-{screen}-{place}", tag)
    take_on(Look())


@pytest.mark.parametrize(("look", "dark"), TWO_LOOKS, indirect=["dark"], ids=str)
def test_what_a_fault_hides_can_be_read_and_tapped(
    make_phone, tmp_path, monkeypatch, look: Look, dark
):
    said = hiding("vehicle_return_resistive")
    monkeypatch.setitem(logic.__dict__, "diagnose", lambda case: said)
    job_id = open_job(tmp_path / "store", repaired=False, solar=False)
    phone = make_phone(look)
    tag = f"{look}-{'dark' if dark else 'light'}"
    show(phone, "findings", job_id)
    look_at(phone, "8-hidden-findings", tag)
    callback = phone.app.work.callback
    callback.conclude(("vehicle_return_resistive",), "Paint", "Cleaned", "wiring")
    for key in callback.check_readings():
        if key == HOUSE_DROP:
            show(phone, "circuit", job_id)
            look_at(phone, "8-hidden-asked", tag)
            callback.cannot_reach(*key)
        else:
            callback.enter(*key)
            callback.take(AFTER.get(tuple(key), 13.4), "")
    show(phone, "circuit", job_id)
    look_at(phone, "8-hidden-out-of-reach", tag)
    show(phone, "closing", job_id)
    for place in (1, 0.8, 0.6):
        phone.app.navigator.page.ids.body.scroll_y = place
        look_at(phone, f"8-hidden-closing-{place}", tag)
    take_on(Look())
