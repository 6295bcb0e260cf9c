"""A step's photo on the glass, also one that came from another phone and cannot be shown."""

import shutil
from pathlib import Path
from typing import Any

import pytest

from logic.checklist.answers import PhotoAnswer
from logic.checklist.step import AskPhoto
from mobile.jobs.photo import prepared
from mobile.jobs.workplace import Workplace
from tests.logic.records.test_pictures import bomb, stated
from tests.mobile.ui.legibility import complaints
from tests.mobile.ui.looks import LOOKS, Look
from tests.mobile.ui.pictures import keep_picture
from tests.mobile.ui.workshop import READY, turn_to, vehicle_row
from tests.paths import CHECKLISTS

SHOWN = bomb(300, 200)


def answered(demo_store: Path, folder: Path, photo: bytes | None) -> tuple[Path, str, str]:
    """Copy the demo, with the first step that asks for a photo answered by this one."""
    shutil.copytree(demo_store, folder)
    work = Workplace(folder, CHECKLISTS)
    walk = work.open_walk(vehicle_row(work.store, READY).open_job)
    step = next(step for step in walk.steps if isinstance(step.ask, AskPhoto))
    sha256 = work.store.add_photo(photo) if photo else "0" * 64
    walk.answer(step.id, PhotoAnswer(sha256=sha256))
    work.close()
    return folder, walk.job_id, step.id


@pytest.mark.parametrize("look", LOOKS, ids=str)
@pytest.mark.parametrize(
    ("photo", "told"),
    [
        (prepared(SHOWN), ""),
        (stated(30_000, 30_000), "its file is damaged"),
        (stated(4000, 3000), "far larger than this app makes them"),
        (b"\xff\xd8\xff half a", "its file is damaged"),
        (None, "not on this phone"),
    ],
    ids=["small", "bomb", "large", "truncated", "missing"],
)
def test_a_photo_is_shown_where_it_is_safe_to_and_else_that_is_said(
    make_phone: Any, demo_store: Path, tmp_path: Path, look: Look, photo: bytes | None, told: str
) -> None:
    store, job_id, step_id = answered(demo_store, tmp_path / "store", photo)
    finger = make_phone(look, store)
    page = turn_to(finger, "step", job_id=job_id, step_id=step_id)
    finger.frames(4)
    panel = page.panel.widget
    assert bool(panel.source) == (not told)
    assert finger.sees(told) if told else panel.not_shown == ""
    assert finger.sees("Take another photo")
    keep_picture(finger, f"{look}/photo_{told or 'shown'}")
    assert complaints() == []
