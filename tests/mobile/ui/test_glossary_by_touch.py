"""The trade's words, reached from where a reading is taken and found by what is typed."""

import shutil
from pathlib import Path
from typing import Any

import pytest

from tests.mobile.ui.legibility import complaints, small_targets
from tests.mobile.ui.looks import LOOKS, Look
from tests.mobile.ui.pictures import keep_picture
from tests.mobile.ui.workshop import READY, turn_to, vehicle_row


@pytest.mark.parametrize("look", LOOKS, ids=str)
def test_a_word_is_looked_up_from_a_step_and_back_leads_to_it(
    make_phone: Any, demo_store: Path, tmp_path: Path, look: Look
) -> None:
    shutil.copytree(demo_store, tmp_path / "store")
    finger = make_phone(look, tmp_path / "store")
    finger.app.work.open_walk(vehicle_row(finger.app.work.store, READY).open_job)
    finger.app.work.walk.go_to("idle_vehicle_feed_drop")
    page = turn_to(finger, "step")
    finger.tap(page.ids.more)
    finger.rest(0.4)
    finger.tap("What a word means")
    finger.rest(0.4)
    assert finger.sees("Absorption")
    glossary = finger.app.navigator.page
    finger.tap(glossary.ids.search.ids.input)
    finger.type("drop")
    finger.until(lambda: not finger.sees("Absorption"))
    assert glossary.ids.words.children[-1].children[-1].text == "Drop"
    finger.frames(4)
    keep_picture(finger, f"{look}/glossary")
    assert complaints() == []
    assert small_targets(48) == []
    finger.type("zzz")
    finger.until(lambda: finger.sees("No such word here."))
    finger.press_back()
    assert finger.app.navigator.current == "step"
