"""The phone's own parts on a phone that refuses: advice every time, the end never."""

from pathlib import Path
from typing import Any

import pytest

from logic.errors import AppError
from mobile.ui import device
from tests.mobile.fake_android import CANCELLED, OK, Intent, JavaException, Null, Uri, put_in

CAMERA, PICKER = 4711, 4712
SECURITY = JavaException("java.lang.SecurityException", "Permission Denial")
NOT_FOUND = JavaException("android.content.ActivityNotFoundException", "No Activity found")


@pytest.fixture
def android(monkeypatch: Any) -> Any:
    monkeypatch.setattr(device, "on_android", lambda: True)
    return put_in(monkeypatch)


def drawn() -> None:
    """Let what was scheduled for the drawing thread happen."""
    from kivy.clock import Clock

    Clock.tick()


def test_the_photo_that_the_camera_took_is_read_and_its_entry_deleted(android):
    uri, told = device.place_for_picture(), []
    device.ask_camera(uri, told.append)
    android.camera_writes(b"jpeg")
    android.comes_back(CAMERA, OK)  # most cameras hand back null where they were given a place
    drawn()
    assert told == [True]
    assert device.read_picture(uri) == b"jpeg"
    device.forget_picture(uri)
    assert android.entries == {}
    assert android.listeners == []


def test_a_cancelled_camera_hands_back_null_and_is_told(android):
    told = []
    device.ask_camera(device.place_for_picture(), told.append)
    android.comes_back(CAMERA, CANCELLED)
    drawn()
    assert told == [False]
    assert android.listeners == []


def test_another_apps_answer_is_not_the_cameras(android):
    told = []
    device.ask_camera(device.place_for_picture(), told.append)
    android.comes_back(99, OK)
    drawn()
    assert told == []
    android.comes_back(CAMERA, OK)
    drawn()
    assert told == [True]


def test_a_camera_asked_for_twice_answers_once(android):
    first, second = [], []
    device.ask_camera(device.place_for_picture(), first.append)
    device.ask_camera(device.place_for_picture(), second.append)
    android.comes_back(CAMERA, OK)
    drawn()
    assert (first, second) == ([], [True])
    assert android.listeners == []


@pytest.mark.parametrize("error", [NOT_FOUND, SECURITY])
def test_a_camera_that_does_not_open_is_said_and_nobody_listens_on(android, error):
    android.refuses["startActivityForResult"] = error
    with pytest.raises(AppError, match="No camera app opens"):
        device.ask_camera(device.place_for_picture(), print)
    assert android.listeners == []
    del android.refuses["startActivityForResult"]
    told = []
    device.ask_camera(device.place_for_picture(), told.append)
    android.comes_back(CAMERA, OK)
    drawn()
    assert told == [True]


@pytest.mark.parametrize("answer", [None, SECURITY])
def test_no_place_for_a_photo_is_said(android, answer):
    android.refuses["insert"] = answer
    with pytest.raises(AppError, match="no room for a photo"):
        device.place_for_picture()


def test_a_photo_whose_entry_has_vanished_is_said(android):
    uri = device.place_for_picture()
    with pytest.raises(AppError, match="Take it again"):
        device.read_picture(uri)  # nothing was written into it
    android.entries.clear()
    with pytest.raises(AppError, match="Take it again"):
        device.read_picture(uri)


def test_an_entry_that_may_not_be_deleted_is_said(android):
    uri = device.place_for_picture()
    android.refuses["delete"] = SECURITY
    with pytest.raises(AppError, match="gallery"):
        device.forget_picture(uri)


def test_the_chosen_file_is_opened(android):
    told, path = [], android.folder / "theirs"
    path.write_bytes(b"bundle")
    android.entries["content://docs/3"] = path
    device.ask_file(told.append)
    android.comes_back(PICKER, OK, Intent(data=Uri("content://docs/3")))
    drawn()
    assert told == ["content://docs/3"]
    with device.open_chosen("content://docs/3") as stream:
        assert stream.read() == b"bundle"


@pytest.mark.parametrize(
    ("result", "make"), [(CANCELLED, Null), (OK, Null), (OK, Intent), (CANCELLED, Intent)]
)
def test_a_picker_that_hands_back_nothing_tells_nothing(android, result, make):
    told = []
    device.ask_file(told.append)
    android.comes_back(PICKER, result, make())
    drawn()
    assert told == []
    assert android.listeners == []


def test_a_picker_that_does_not_open_is_said(android):
    android.refuses["startActivityForResult"] = NOT_FOUND
    with pytest.raises(AppError, match="does not open"):
        device.ask_file(print)
    assert android.listeners == []


@pytest.mark.parametrize("answer", [None, SECURITY])
def test_a_chosen_file_that_is_not_handed_over_is_said(android, answer):
    android.entries["content://docs/3"] = android.folder / "theirs"
    android.refuses["openFileDescriptor"] = answer
    with pytest.raises(AppError, match="choose it again"):
        device.open_chosen("content://docs/3")


def test_a_file_is_shared_as_an_entry_of_ours(android, tmp_path):
    path = tmp_path / "record.pdf"
    path.write_bytes(b"%PDF")
    uri = device.share(path, "application/pdf")
    [intent] = android.started
    assert intent.type == "application/pdf"
    [(entry, shared)] = android.entries.items()
    assert shared.read_bytes() == b"%PDF"
    assert uri == entry
    device.forget_shared(uri)
    assert android.entries == {}


def test_a_shared_copy_that_stays_is_said(android):
    android.refuses["delete"] = SECURITY
    with pytest.raises(AppError, match="Delete it in the Downloads folder"):
        device.forget_shared("content://shared/1")


@pytest.mark.parametrize(
    ("call", "answer"),
    [
        ("insert", None),
        ("insert", SECURITY),
        ("openFileDescriptor", None),
        ("openFileDescriptor", JavaException("java.io.FileNotFoundException")),
        ("startActivity", NOT_FOUND),
    ],
)
def test_sharing_that_is_refused_is_said(android, tmp_path, call, answer):
    path = tmp_path / "record.pdf"
    path.write_bytes(b"%PDF")
    android.refuses[call] = answer
    with pytest.raises(AppError, match="did not take the file"):
        device.share(path, "application/pdf")


def test_a_phone_that_does_not_name_its_edges_covers_none(android):
    assert device.covered_edges() == (0, 0, 0, 0)
    android.refuses["getWindow"] = SECURITY
    assert device.covered_edges() == (0, 0, 0, 0)


def test_on_the_desk_sharing_says_where_the_file_is(monkeypatch):
    monkeypatch.setattr(device, "on_android", lambda: False)
    with pytest.raises(AppError, match=r"record\.pdf"):
        device.share(Path("record.pdf"), "application/pdf")
