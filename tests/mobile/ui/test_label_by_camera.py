"""The label's code by the camera: read, cancelled, unreadable, with the app ended meanwhile."""

from io import BytesIO
from typing import Any

import pytest
import segno
from kivy.clock import Clock
from PIL import Image

from logic.records.store.store import Store
from mobile.ui import camera, device
from tests.logic.records import sample_records
from tests.mobile.driveway import open_job
from tests.mobile.fake_android import CANCELLED, OK, JavaException, put_in
from tests.mobile.label_photographed import Shot, photograph

CAMERA = 4711
SECURITY = JavaException("java.lang.SecurityException", "not the owner")
COMPLAINT = "No code can be read in this photo."


@pytest.fixture
def android(monkeypatch: Any) -> Any:
    return put_in(monkeypatch)


@pytest.fixture
def store(tmp_path: Any) -> Any:
    return tmp_path / "store"


@pytest.fixture(scope="module")
def sealed() -> Any:
    return sample_records.seal(sample_records.commissioning())


@pytest.fixture(scope="module")
def taken(sealed: Any) -> bytes:
    return photograph(sealed, Shot(turned=-25, aslant=0.25, blur=2.0, light=0.5, glare=0.08))


def to_camera(phone: Any) -> Any:
    phone.frames(3)
    phone.tap("Quick check")
    phone.frames(3)
    phone.tap("Read the label")
    phone.frames(3)
    return phone.app.navigator.page


def awaited(phone: Any) -> Any:
    return phone.app.work.store.setting(camera.SETTING)


def is_taken_over(phone: Any, sealed: Any) -> bool:
    phone.until(lambda: phone.app.navigator.current == "callback", 20)
    phone.frames(3)
    return phone.sees("readings of its commissioning to compare with") and any(
        one.registration == sealed.record.vehicle.registration
        for one in phone.app.work.store.find_vehicles()
    )


def test_the_label_is_photographed_and_the_vehicle_taken_from_its_code(
    make_phone, android, sealed, taken
):
    phone = make_phone()
    to_camera(phone)
    assert awaited(phone)["label"], "in the store before the camera opens"
    android.camera_writes(taken)
    android.comes_back(CAMERA, OK)
    assert is_taken_over(phone, sealed)
    assert android.entries == {}
    assert awaited(phone) is None


def test_a_cancelled_camera_leaves_the_page_as_it_was(make_phone, android):
    phone = make_phone()
    page = to_camera(phone)
    android.comes_back(CAMERA, CANCELLED)
    phone.frames(5)
    assert phone.app.navigator.page is page
    assert android.entries == {}
    assert awaited(phone) is None
    phone.rest(0.5)
    phone.tap("Read the label")
    phone.frames(3)
    assert len(android.started) == 2


def test_without_a_camera_app_it_is_said_and_nothing_is_left_behind(make_phone, android):
    android.refuses["startActivityForResult"] = JavaException(
        "android.content.ActivityNotFoundException"
    )
    phone = make_phone()
    to_camera(phone)
    assert phone.sees("No camera app opens on this phone.")
    assert android.entries == {}
    assert awaited(phone) is None


@pytest.mark.parametrize(
    ("shot", "advice"),
    [(Shot(blur=12), COMPLAINT), (Shot(light=0.0, noise=0), COMPLAINT)],
    ids=["blurred", "black"],
)
def test_a_photo_without_a_readable_code_says_how_to_take_a_better_one(
    make_phone, android, sealed, shot, advice
):
    phone = make_phone()
    page = to_camera(phone)
    android.camera_writes(photograph(sealed, shot))
    android.comes_back(CAMERA, OK)
    phone.until(lambda: page.ids.photo_complaint.text, 20)
    phone.frames(10)
    assert phone.sees(advice)
    assert not phone.find("Read the label").disabled
    assert android.entries == {}


def test_another_things_code_is_told_from_a_bad_photo(make_phone, android):
    phone = make_phone()
    page = to_camera(phone)
    other, picture = BytesIO(), BytesIO()
    segno.make("https://example.org/").save(other, kind="png", scale=8)
    Image.open(other).convert("RGB").save(picture, "JPEG")
    android.camera_writes(picture.getvalue())
    android.comes_back(CAMERA, OK)
    phone.until(lambda: page.ids.photo_complaint.text, 20)
    assert "not a label of this app" in page.ids.photo_complaint.text


def test_the_label_outlives_the_app_that_was_ended_while_the_camera_was_open(
    make_phone, android, sealed, taken
):
    phone = make_phone()
    to_camera(phone)
    android.camera_writes(taken)
    phone = make_phone()
    assert is_taken_over(phone, sealed)
    assert android.entries == {}
    assert awaited(phone) is None


@pytest.mark.parametrize("wanted", [{"label": True}, {"step_id": "photo_of_terminals"}])
def test_a_photo_that_vanished_is_advice_at_the_start_and_not_the_end(
    make_phone, store, android, wanted
):
    job_id = open_job(store)
    kept = {"uri": "content://media/images/9", "job_id": job_id, "answers": True} | wanted
    with Store.open(store) as opened:
        opened.set_setting(camera.SETTING, kept)
    phone = make_phone()
    phone.until(lambda: phone.sees("The photo is not on the phone any more."))
    assert awaited(phone) is None
    assert make_phone().app.banner.text == ""


def test_a_cameras_copy_that_stays_is_said_and_the_label_read_all_the_same(
    make_phone, android, sealed, taken
):
    phone = make_phone()
    to_camera(phone)
    android.camera_writes(taken)
    android.refuses["delete"] = SECURITY
    android.comes_back(CAMERA, OK)
    assert is_taken_over(phone, sealed)
    phone.until(lambda: phone.sees("Delete it in the phone's gallery."))
    assert awaited(phone) is None


def test_on_the_desk_a_photo_is_chosen_instead(make_phone, sealed, taken, tmp_path):
    assert not device.HAS_CAMERA
    (tmp_path / "label.jpg").write_bytes(taken)
    phone = make_phone()
    phone.frames(3)
    phone.tap("Quick check")
    phone.frames(3)
    phone.tap("Read the label")
    phone.frames(3)
    phone.app.root_window.children[0].folder = str(tmp_path)
    phone.frames(3)
    phone.tap("label.jpg")
    assert is_taken_over(phone, sealed)


def test_a_step_photo_without_a_camera_app_is_advice_on_the_banner(make_phone, store, android):
    job_id = open_job(store)
    android.refuses["startActivityForResult"] = SECURITY
    phone = make_phone()
    phone.app.work.open_walk(job_id)
    page = phone.app.navigator.show("step")
    phone.frames(3)
    Clock.schedule_once(lambda _: page.take_photo())
    phone.frames(3)
    assert phone.sees("No camera app opens on this phone.")
    assert phone.app.navigator.current == "step"
