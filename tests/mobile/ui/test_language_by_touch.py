"""The list of vehicles and the walk's frame in German, with no gap; what is kept stays English.

What is content (the data files' and the engine's own sentences) is not in German yet and is told
apart here by where it comes from.
"""

import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from kivy.uix.label import Label

from logic.checklist.step import AskReading
from logic.records.outcomes import answer_words
from logic.words.figures import limits
from logic.words.names import capitalised, probe_lines
from mobile.jobs.language import FOLDER, Language, read
from mobile.jobs.own_choices import OwnChoices
from mobile.ui import own_way
from mobile.ui.screens import step_sheets
from mobile.ui.widgets.reading_panel import ReadingPanel
from mobile.ui.widgets.words import Written
from tests.mobile.ui.legibility import complaints
from tests.mobile.ui.looks import LOOKS, Look
from tests.mobile.ui.pictures import keep_picture
from tests.mobile.ui.workshop import READY, turn_to, vehicle_row
from tests.paths import CHECKLISTS

GERMAN = read((FOLDER / "de.po").read_text(encoding="utf-8"))
UNITS = {"V", "A", "C", "OL", "R", "B", "mV", "mΩ", "m"}


@pytest.fixture(autouse=True)
def as_nobody_chose() -> Any:
    yield
    own_way.take_on(OwnChoices())


@pytest.fixture
def started(make_phone: Any, demo_store: Path, tmp_path: Path) -> Any:
    def start(look: Look) -> Any:
        shutil.copytree(demo_store, tmp_path / "store")
        finger = make_phone(look, tmp_path / "store")
        turn_to(finger, "own")
        finger.tap("Deutsch")
        return finger

    return start


def path_of_use(finger: Any) -> Iterator[str]:
    turn_to(finger, "home")
    yield "home"
    page = finger.app.navigator.page
    page.fragment = "999"
    finger.until(lambda: page.nothing)
    yield "home_nothing_fits"
    page.fragment = ""
    walk = finger.app.work.open_walk(vehicle_row(finger.app.work.store, READY).open_job)
    walk.go_to("job_made_safe")
    turn_to(finger, "stage")
    yield "stage"
    page = turn_to(finger, "step")
    yield "step_question"
    walk.go_to("idle_vehicle_feed_drop")
    page.refresh()
    yield "step_given"
    for typed in ("", "2.9", "0.2", "0.38", "310", "2900", "OL", "1..2"):
        page.panel.widget.type(typed)
        yield f"typed_{typed or 'nothing'}"
    for sheet in ("StepActions", "Note", "Skip", "Stages", "Explain"):
        kind = getattr(step_sheets, f"{sheet}Sheet")
        opened = kind(screen=page)
        opened.open(animation=False)
        finger.frames(3)
        if hasattr(opened, "give"):
            opened.give()
        yield f"sheet_{sheet.lower()}"
        opened.dismiss(animation=False)


def content(finger: Any) -> set[str]:
    """Return what is shown of the data files, of the engine's sentences and of the vehicles."""
    pieces: set[str] = set()
    for path in CHECKLISTS.rglob("*.toml"):
        pieces |= set(re.findall(r'"([^"\n]+)"', path.read_text(encoding="utf-8")))
    for row in finger.app.work.store.find_vehicles():
        pieces |= {row.registration, row.description, row.customer}
    walk = finger.app.work.walk
    if walk is not None:
        view = walk.view()
        ask = view.step.ask
        if isinstance(ask, AskReading):
            context = walk.reading_context(ask)
            pieces |= {line for _, line in probe_lines(ask.point)}
            expected = context.expectation()
            pieces |= {capitalised(expected.why), limits(ask.point, expected.low, expected.high)}
        if view.verdict:
            pieces.add(view.verdict.reason)
        pieces |= {capitalised(one) for one in view.follows}
        pieces.add(str(answer_words(view.answer, view.step)) if view.answer else "")
    panel = getattr(getattr(finger.app.navigator.page, "panel", None), "widget", None)
    if isinstance(panel, ReadingPanel):
        typed = panel.typed
        pieces |= {typed.complaint, typed.note.strip(), typed.meant, capitalised(typed.doubt)}
        pieces |= {typed.verdict.reason} if typed.verdict else set()
    return {one for one in pieces if len(one) > 3}


def german() -> list[str]:
    """Return every piece of German between the figures and names that are put into it."""
    forms = [form for text in GERMAN.values() for form in text.split("\0")]
    pieces = [piece.strip(" .,:'?()") for form in forms for piece in re.split(r"\{\w+\}", form)]
    return [piece for piece in pieces if piece]


def left_in_english(text: str, known: list[str]) -> str:
    """Return what is left of a text without all that is known, where letters are left."""
    for piece in known:
        text = re.sub(rf"(?<!\w){re.escape(piece)}(?!\w)", " ", text)
    words = [word for word in re.findall(r"[^\W\d_]+", text) if word not in UNITS]
    return " ".join(words)


def gaps(finger: Any, where: str) -> set[str]:
    known = sorted({*german(), *content(finger)}, key=len, reverse=True)
    found = set()
    for widget in finger.shown():
        if isinstance(widget, Label) and widget.text.strip():
            drawn = widget.drawn if isinstance(widget, Written) else widget.text
            if left := left_in_english(drawn, known):
                found.add(f"{where}: {left!r} of {drawn!r}")
    return found


@pytest.mark.parametrize("look", [LOOKS[0], LOOKS[1], LOOKS[2]], ids=str)
def test_the_list_and_the_walks_frame_are_german_without_a_gap_and_nothing_is_cut_off(
    started: Any, look: Look
) -> None:
    finger = started(look)
    missing, faults = set(), []
    for where in path_of_use(finger):
        finger.frames(4)
        keep_picture(finger, f"{look}/german_{where}")
        missing |= gaps(finger, where)
        faults += [f"{where}: {fault}" for fault in complaints()]
    assert not missing, "\n".join(sorted(missing))
    assert faults == []


def test_a_gap_is_found() -> None:
    assert left_in_english("Weiter: VET 117 and more", ["Weiter", "VET 117"]) == "and more"


def test_what_is_kept_is_english_whatever_is_read(started: Any) -> None:
    finger = started(LOOKS[0])
    walk = finger.app.work.open_walk(vehicle_row(finger.app.work.store, READY).open_job)
    walk.go_to("idle_vehicle_feed_drop")
    page = turn_to(finger, "step")
    step_sheets.SkipSheet(screen=page).open(animation=False)
    finger.frames(3)
    chip = next(w for w in finger.shown() if getattr(w, "text", "") == "Cannot be reached")
    assert chip.drawn == "Nicht zugänglich"
    finger.tap(chip)
    kept = finger.app.work.store.job(walk.job.job_id)
    assert kept.skipped["idle_vehicle_feed_drop"].reason == "Cannot be reached"


def test_the_language_is_kept_and_can_be_changed_back(started: Any) -> None:
    finger = started(LOOKS[0])
    assert finger.app.work.store_file.setting("language") == Language.GERMAN
    turn_to(finger, "home")
    new = finger.find("New vehicle")
    assert new.drawn == "Neues Fahrzeug"
    turn_to(finger, "own")
    finger.tap("English")
    assert new.drawn == "New vehicle"
