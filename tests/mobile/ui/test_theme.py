"""Contrast in both looks: of every screen as it is drawn, and of every ink of the drawings."""

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from logic.diagram.primitives import Ink
from mobile.jobs.job_start import begin_callback
from mobile.ui.theme import Theme, theme
from mobile.ui.widgets.buttons import Chip
from tests.mobile.ui.contrast import contrast, pairs
from tests.mobile.ui.test_screens_around_the_walk import every_screen
from tests.mobile.ui.workshop import READY, turn_to, vehicle_row


def test_black_on_white_is_21_to_1() -> None:
    assert contrast((1, 1, 1), (0, 0, 0)) == pytest.approx(21)  # WCAG 2.2, "contrast ratio"


def test_a_known_grey_on_white() -> None:
    # #767676 on white is the grey that just holds 4.5:1; value from memory.
    grey = 0x76 / 255
    assert contrast((grey,) * 3, (1, 1, 1)) == pytest.approx(4.54, abs=0.01)


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
def test_everything_on_every_screen_reads_in_the_sun(
    make_phone: Any, demo_store: Path, tmp_path: Path, dark: bool
) -> None:
    store = tmp_path / "store"
    shutil.copytree(demo_store, store)
    finger = make_phone(store=store)
    theme.dark = dark
    finger.app.navigator.restart("home")
    try:
        weak, seen = set(), set()
        for name in all_screens(finger):
            finger.frames(3)
            for pair in pairs():
                seen.add((pair.colour, pair.ground))
                if pair.contrast < pair.least:
                    weak.add(f"{name}: {pair.what} has {pair.contrast:.1f}, needs {pair.least}")
        assert not weak, "\n".join(sorted(weak))
        assert len(seen) >= 10, "nothing was looked at"
    finally:
        theme.dark = False


def all_screens(finger: Any) -> Iterator[str]:
    yield from (name for name, _ in every_screen(finger))
    work = finger.app.work
    walk = work.open_walk(vehicle_row(work.store, READY).open_job)
    page = turn_to(finger, "step")
    for step, keys in (("idle_vehicle_feed_drop", "2.9"), ("job_made_safe", "")):
        walk.go_to(step)
        page.refresh()
        for key in keys:
            page.panel.widget.press(key)
        yield step
    for text in ("0.2", "0.38", "2900", "OL"):
        walk.go_to("idle_vehicle_feed_drop")
        page.refresh()
        page.panel.widget.type(text)
        yield f"typed {text}"
    finger.tap(page.ids.more)
    yield "what can be done at a step"
    finger.app.root_window.children[0].dismiss(animation=False)
    begun = work.store, work.library, vehicle_row(work.store, READY).vehicle_id
    job = begin_callback(*begun, work.clock(), ["charges_slowly"], "Slow")
    finger.app.navigator.show("circuit", job_id=job)
    for name in ("circuit", "findings", "ladder", "compared", "repair"):
        turn_to(finger, name)
        yield name


GROUNDS = (Ink.GROUND, Ink.SURFACE, Ink.TINT, Ink.LIT)
ON_MARKS = {
    Ink.MAIN_WORDS: ("main",),
    Ink.VERDICT_WORDS: ("in_range", "marginal", "out_of_range", "no_limit", "red_probe", "clamp"),
}


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("ink", Ink)
def test_what_is_written_into_a_drawing_reads_in_the_sun(ink: Ink, dark: bool) -> None:
    look = Theme(dark=dark)
    if ink in GROUNDS:
        written, grounds = look.ink, [getattr(look, ink.value)]
    elif ink in ON_MARKS:
        written, grounds = getattr(look, ink.value), [getattr(look, one) for one in ON_MARKS[ink]]
    else:
        written, grounds = getattr(look, ink.value), [look.ground, look.surface]
    for ground in grounds:
        assert contrast(written, ground) >= 7


def test_the_look_can_be_changed_and_changed_back() -> None:
    look = Theme()
    light = list(look.ground)
    look.dark = True
    assert list(look.ground) != light
    look.dark = False
    assert list(look.ground) == light


def test_a_weak_text_on_a_tinted_button_is_found(phone: Any) -> None:
    label = Chip(text="4.5 A", chosen=True)
    phone.app.navigator.page.add_widget(label)
    phone.frames(3)
    [pair] = [one for one in pairs() if one.what == "'4.5 A'" and one.is_value]
    assert pair.contrast >= 7
    label.color = theme.main_pressed
    [pair] = [one for one in pairs() if one.what == "'4.5 A'" and one.is_value]
    assert pair.contrast < 2
