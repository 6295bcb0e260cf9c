"""The self-test: one file with what was measured and tried, and nothing of anybody in it."""

import json
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest

from mobile.jobs import phone_store, self_test
from mobile.ui import device
from tests.mobile.fake_android import CANCELLED, OK, Intent, Uri, put_in
from tests.mobile.ui.legibility import complaints, small_targets
from tests.mobile.ui.looks import LOOKS, Look
from tests.mobile.ui.pictures import keep_picture
from tests.mobile.ui.workshop import turn_to
from tests.paths import CHECKOUT


@pytest.fixture
def page(make_phone: Any) -> Any:
    finger = make_phone()
    turn_to(finger, "own")
    finger.tap("Self-test")
    return finger


def report(finger: Any) -> dict[str, Any]:
    path = finger.app.work.store_folder / "self_test" / "self-test.json"
    return json.loads(path.read_text())


def test_it_measures_the_app_and_keeps_what_it_found(page: Any) -> None:
    page.tap("Measure")
    page.until(lambda: not page.app.navigator.page.doing, 60)
    found = report(page)
    assert found["python"] == sys.version.split()[0]
    assert found["modules"]["kivy"] == "2.3.1"
    assert found["store_ms"]["median"] <= found["store_ms"]["longest"]
    assert found["diagnosis_ms"] > 0
    assert found["memory_mb"] > 50  # a Python with Kivy's window; kivy-facts measured 149
    assert page.sees(f"python: {found['python']}")


def test_what_was_tried_on_the_phone_is_in_the_same_file(make_phone: Any, monkeypatch: Any) -> None:
    android = put_in(monkeypatch)
    finger = make_phone()
    turn_to(finger, "self_test")
    finger.tap("Take a photo")
    android.camera_writes(b"jpeg")
    android.comes_back(4711, OK)
    finger.frames(3)
    assert report(finger)["photo"].startswith("4 bytes")
    assert android.entries == {}
    finger.tap("Take a photo")
    android.comes_back(4711, CANCELLED)
    finger.frames(3)
    assert report(finger)["photo"] == "No photo was taken"
    android.entries["content://docs/3"] = android.folder / "theirs"
    android.entries["content://docs/3"].write_bytes(b"bundle")
    finger.tap("Choose a file")
    android.comes_back(4712, OK, Intent(data=Uri("content://docs/3")))
    finger.frames(3)
    assert report(finger)["file"] == "6 bytes read"


def test_on_the_desk_it_says_that_a_phone_is_needed(page: Any) -> None:
    page.tap("Take a photo")
    assert page.sees("This is tried on a phone.")


def test_the_report_is_shared_as_one_file(page: Any, monkeypatch: Any) -> None:
    shared: list[Any] = []
    monkeypatch.setattr(device, "share", lambda *what: shared.append(what))
    page.tap("Share the report")
    [(_, path, kind)] = shared
    assert json.loads(Path(path).read_text()) == {}
    assert kind == "application/json"


def test_nothing_that_the_store_took_is_lost_with_the_app(tmp_path: Path, make_phone: Any) -> None:
    folder = tmp_path / "store"
    start = "import sys; from pathlib import Path; from mobile.jobs import self_test; "
    start += "self_test.keep_writing(Path(sys.argv[1]), lambda: True)"
    writing = subprocess.Popen([sys.executable, "-c", start, folder], cwd=CHECKOUT)
    taken = folder / "self_test" / "acknowledged"
    begun = time.monotonic()
    while not taken.exists() and time.monotonic() < begun + 60:
        time.sleep(0.01)
    time.sleep(0.2)
    writing.kill()
    writing.wait()
    number = int(taken.read_text())
    assert self_test.after_a_kill(folder) == f"{number} entries taken, 0 lost."
    finger = make_phone(store=folder)
    turn_to(finger, "self_test")
    assert finger.sees(f"{number} entries taken, 0 lost.")


def test_a_lost_entry_would_be_said(tmp_path: Path) -> None:
    said = iter([True, True, True, False])
    self_test.keep_writing(tmp_path, lambda: next(said))
    with phone_store.open_store_file(tmp_path / "self_test" / "scratch") as store:
        store.set_setting("written", 1)
    assert self_test.after_a_kill(tmp_path) == "3 entries taken, 2 lost."


@pytest.mark.parametrize("look", LOOKS, ids=str)
def test_it_can_be_read_and_tapped(make_phone: Any, look: Look) -> None:
    finger = make_phone(look)
    turn_to(finger, "self_test")
    finger.tap("Measure")
    finger.until(lambda: not finger.app.navigator.page.doing, 60)
    finger.frames(4)
    keep_picture(finger, f"{look}/self_test")
    assert [*complaints(), *small_targets(48)] == []
    finger.app.navigator.page.ids.body.scroll_y = 0
    finger.frames(4)
    keep_picture(finger, f"{look}/self_test_end")
    assert [*complaints(), *small_targets(48)] == []
