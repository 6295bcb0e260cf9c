import pytest
from kivy.core.window import Window

from logic.records.store.bookmark import Bookmark
from logic.records.store.store import Store
from mobile.ui.theme import theme
from tests.mobile.driveway import open_job


@pytest.fixture
def store(tmp_path):
    return tmp_path / "store"


def marked(store, **place):
    with Store.open(store) as opened:
        opened.set_bookmark(Bookmark(**place))


def test_a_fresh_phone_opens_on_the_list_of_vehicles(phone):
    assert phone.app.navigator.trail == ("home",)


def test_the_back_key_at_the_list_is_left_to_the_phone(phone):
    assert not Window.dispatch("on_keyboard", 27, 41, None, [])


def test_the_app_opens_where_it_was_left_with_the_way_back_laid(make_phone, store):
    job_id = open_job(store)
    with Store.open(store) as opened:
        vehicle_id = opened.job(job_id).vehicle_id
    place = {"vehicle_id": vehicle_id, "job_id": job_id, "step_id": "ignition_source"}
    marked(store, screen="step", **place)
    phone = make_phone()
    assert phone.app.navigator.trail == ("home", "vehicle", "step")
    assert phone.app.work.walk.step.id == "ignition_source"
    phone.press_back()
    assert phone.app.navigator.current == "vehicle"
    phone.press_back()
    assert phone.app.navigator.current == "home"


def test_a_walk_that_was_left_on_purpose_does_not_open_by_itself(make_phone, store):
    open_job(store)
    phone = make_phone()
    phone.app.work.open_walk(phone.app.work.store.find_vehicles()[0].open_job)
    phone.app.navigator.show("step")
    phone.press_back()
    assert make_phone().app.navigator.trail == ("home",)


@pytest.mark.parametrize("screen", ["step", "callback", "no_such_screen", ""])
def test_a_bookmark_that_leads_nowhere_opens_the_list(make_phone, store, screen):
    marked(store, screen=screen, vehicle_id="a" * 32, job_id="b" * 32, step_id="gone")
    assert make_phone().app.navigator.current == "home"


def test_what_is_typed_is_on_disk_when_the_phone_pauses_the_app(make_phone, store):
    open_job(store)
    phone = make_phone()
    walk = phone.app.work.open_walk(phone.app.work.store.find_vehicles()[0].open_job)
    walk.go_to("rest_start_battery_voltage")
    phone.app.navigator.show("step")
    phone.frames(3)
    phone.tap("1")
    assert phone.app.on_pause()
    with Store.open(store) as other:
        assert "1" in other.bookmark().unfinished
    phone.app.on_resume()


def test_the_screen_stays_on_in_the_walk_and_only_there(make_phone, store):
    open_job(store)
    phone = make_phone()
    assert Window.allow_screensaver
    phone.app.work.open_walk(phone.app.work.store.find_vehicles()[0].open_job)
    phone.app.navigator.show("step")
    assert not Window.allow_screensaver
    phone.app.navigator.restart("home")
    assert Window.allow_screensaver


def test_the_dark_look_is_kept(make_phone, store):
    with Store.open(store) as opened:
        opened.set_setting("dark", True)
    make_phone()
    assert theme.dark
    with Store.open(store) as opened:
        opened.set_setting("dark", False)
    make_phone()
    assert not theme.dark


def test_screens_are_built_on_their_first_show(phone):
    assert [screen.name for screen in phone.app.navigator.screens] == ["home"]


def test_a_photo_outlives_the_app_that_was_ended_while_the_camera_was_open(
    make_phone, store, monkeypatch
):
    from io import BytesIO

    from PIL import Image

    from mobile.ui import camera, device

    written = BytesIO()
    Image.new("RGB", (40, 30), "teal").save(written, "JPEG")
    forgotten = []
    monkeypatch.setattr(device, "read_picture", {"content://7": written.getvalue()}.get)
    monkeypatch.setattr(device, "forget_picture", forgotten.append)
    job_id = open_job(store)
    wanted = {"job_id": job_id, "step_id": "photo_of_terminals", "answers": True}
    with Store.open(store) as opened:
        opened.set_setting(camera.SETTING, wanted | {"uri": "content://7"})
    phone = make_phone()
    answers = lambda: phone.app.work.store.job(job_id).answers  # noqa: E731
    phone.until(lambda: "photo_of_terminals" in answers())
    phone.until(lambda: phone.sees("The photo was kept."))
    assert forgotten == ["content://7"]
    assert phone.app.work.store.setting(camera.SETTING) is None


def test_a_late_photo_goes_to_its_own_job_and_leaves_the_one_in_hand(make_phone, store):
    from io import BytesIO

    from PIL import Image

    from mobile.ui import camera

    first, second = open_job(store), open_job(store)
    phone = make_phone()
    work = phone.app.work
    in_hand = work.open_walk(second)
    written = BytesIO()
    Image.new("RGB", (40, 30), "teal").save(written, "PNG")
    path = store / "late.png"
    path.write_bytes(written.getvalue())
    wanted = {"job_id": first, "step_id": "photo_of_terminals", "answers": False}
    came = []
    camera.bring(work, wanted, path, lambda: came.append(True))
    phone.until(lambda: came)
    assert work.walk is in_hand
    assert "photo_of_terminals" in work.store.job(first).photos
    assert work.store.job(second).photos == {}


def test_a_widget_that_is_gone_is_not_kept_by_the_look(phone):
    import gc
    import weakref

    from mobile.ui.widgets.circuit import CircuitView
    from mobile.ui.widgets.ruler import Ruler
    from mobile.ui.widgets.stage_bar import StageBar

    gone = [weakref.ref(kind()) for kind in (CircuitView, Ruler, StageBar)]
    phone.frames(3)
    gc.collect()
    assert [ref() for ref in gone] == [None, None, None]
