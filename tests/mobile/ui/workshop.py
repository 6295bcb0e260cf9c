"""The demo's store with one commissioning ready for review, and how it is signed."""

import shutil
from pathlib import Path
from typing import Any

from logic.checklist import run
from logic.checklist.answers import ReadingAnswer
from logic.records.store.store import Store
from logic.vehicle.points import Point, State
from mobile.demo import stories
from mobile.jobs.workplace import Workplace
from mobile.ui.widgets.reasons import ReasonSheet
from tests.paths import CHECKLISTS

READY, FRESH, SIGNED = "VET 117", "BEE 338", "LIB 204"
READ = "Read: sign it"  # under page one, before the customer signs


def fill(folder: Path) -> None:
    """Put the demo into a folder; the job under way gets all answers, one of them out of range."""
    stories.fill(folder, CHECKLISTS)
    work = Workplace(folder, CHECKLISTS)
    row = vehicle_row(work.store, READY)
    walk = work.open_walk(row.open_job)
    told = stories.invented()["vehicles"]
    readings = next(one["readings"] for one in told if one["registration"] == READY)
    while step := run.next_open_step(walk.checklist, walk.facts):
        walk.go_to(step.id)
        answer = stories.answer_for(step, readings)
        if (step.point, step.state) == (Point.VEHICLE_FEED_DROP, State.IDLE):
            answer = ReadingAnswer(value=1.4, typed="1.4")
        if answer is None:
            walk.skip(step.id, "Not fitted")
        else:
            walk.answer(step.id, answer)
    work.close()


def vehicle_row(store: Store, plate: str) -> Any:
    """Return a vehicle's line of the list."""
    [row] = store.find_vehicles(plate)
    return row


def turn_to(finger: Any, name: str, **what: Any) -> Any:
    """Show a screen without a tap, and wait until a tap is no bounce of the one before."""
    page = finger.app.navigator.show(name, **what)
    finger.rest(0.4)
    return page


def as_killed(finger: Any, folder: Path) -> Path:
    """Copy the store's files as they lie on disk now: what a dead phone would leave."""
    copy = folder / "as_killed"
    shutil.copytree(finger.app.work.store_folder, copy)
    return copy


def sign(finger: Any) -> None:
    """Draw a signature on the glass that is shown."""
    pad = finger.app.navigator.page.ids.pad
    x, y = pad.to_window(*pad.pos)
    path = [(0.1 + i / 15, 0.4 + 0.2 * (i % 3 - 1)) for i in range(12)]
    finger.draw([(x + a * pad.width, y + b * pad.height) for a, b in path])


def give_reason(finger: Any, reason: str, words: str = "Save") -> None:
    """Choose a ready reason on the sheet that is open, and hand it over."""
    finger.until(lambda: _sheet(finger))
    finger.frames(4)
    finger.tap(reason)
    finger.until(lambda: _sheet(finger).text == reason)
    finger.frames(4)
    finger.tap(words)
    finger.until(lambda: not _sheet(finger))


def _sheet(finger: Any) -> Any:
    return next((w for w in finger.shown() if isinstance(w, ReasonSheet)), None)


def write(finger: Any, name: str, text: str) -> None:
    """Type into a text field of the screen, by its label."""
    finger.tap(field(finger, name).ids.input)
    finger.type(text)


def field(finger: Any, name: str) -> Any:
    """Return the field with this label."""
    return next(w for w in finger.shown() if getattr(w, "label", None) == name)
