"""The keypad, a real keyboard in its place, and letters that cannot be drawn."""

import unicodedata
from typing import Any

import pytest
from fontTools.ttLib import TTFont
from kivy.core.window import Window

from logic.records.paper.document import FACES, FONTS
from logic.vehicle.points import Point
from mobile.jobs.job_start import begin_callback
from mobile.ui import letters
from tests.mobile.callback_scene import describe, described
from tests.mobile.driveway import open_job
from tests.mobile.ui.workshop import field, write

# Kivy's codes of the keys that write nothing, as its SDL window hands them on.
BACKSPACE, ENTER, BLOCK_7, BLOCK_POINT = (8, ""), (13, ""), (263, ""), (266, "")


def keyboard(finger: Any, *keys: str | tuple[int, str]) -> None:
    for key in keys:
        code, text = (ord(key), key) if isinstance(key, str) else key
        Window.dispatch("on_key_down", code, 0, text, [])
        finger.frames(1)


def key_at(finger: Any, text: str) -> Any:
    return next(w for w in finger.shown() if type(w).__name__ == "Key" and w.text == text)


@pytest.fixture
def charger_page(phone: Any) -> Any:
    phone.tap("New vehicle")
    write(phone, "Registration plate", "FH 204")
    phone.tap("Next: equipment")
    phone.tap("Charger")
    return phone


@pytest.fixture
def reading(make_phone: Any, tmp_path: Any) -> Any:
    open_job(tmp_path / "store")
    finger = make_phone()
    walk = finger.app.work.open_walk(finger.app.work.store.find_vehicles()[0].open_job)
    walk.go_to("rest_start_battery_voltage")
    finger.app.navigator.show("step")
    finger.frames(3)
    return finger


# ISO/IEC 9995-8 and ITU-T E.161 (both from memory): 1 2 3 on top, 0 under 8.
ROWS = ("123", "456", "789", ".0−")


def test_the_keys_stand_as_on_a_phone(reading: Any) -> None:
    middles = {key: key_at(reading, key).center for row in ROWS for key in row}
    for row in ROWS:
        assert len({round(middles[key][1]) for key in row}) == 1
        assert middles[row[0]][0] < middles[row[1]][0] < middles[row[2]][0]
    for column in zip(*ROWS, strict=True):
        assert len({round(middles[key][0]) for key in column}) == 1
        ys = [middles[key][1] for key in column]
        assert ys == sorted(ys, reverse=True)


def test_back_and_next_stay_in_their_corners_whether_a_value_is_typed_or_a_question_answered(
    reading: Any,
) -> None:
    page = reading.app.navigator.page

    def corners() -> tuple[Any, Any]:
        back, onward = page.ids.back, page.ids.next
        return back.to_window(*back.center), onward.to_window(onward.right, onward.y)

    typing = corners()
    page.walk.go_to("job_made_safe")
    page.refresh()
    reading.frames(3)
    asking = corners()
    for one, other in zip(typing, asking, strict=True):
        assert max(abs(a - b) for a, b in zip(one, other, strict=True)) < 24


def test_a_keyboard_types_a_figure_of_the_set_up(charger_page: Any) -> None:
    charger_page.tap(field(charger_page, "Rated output"))
    keyboard(charger_page, "3", "9", BACKSPACE, ",", BLOCK_7, ENTER)
    assert field(charger_page, "Rated output").text == "3.7"
    assert charger_page.app.root_window.children[0] is charger_page.app.root


def test_a_figure_of_the_set_up_cannot_be_over_the_meters_range(charger_page: Any) -> None:
    charger_page.tap(field(charger_page, "Rated output"))
    charger_page.frames(3)
    assert not any(type(w).__name__ == "Key" and w.text == "OL" for w in charger_page.shown())


def test_a_minus_counts_only_where_a_figure_may_be_negative(charger_page: Any) -> None:
    charger_page.tap(field(charger_page, "Rated output"))
    keyboard(charger_page, "-", "4")
    assert field(charger_page, "Rated output").text == "4"


def test_a_keyboard_types_the_callbacks_reading_and_enter_saves_it(
    make_phone: Any, tmp_path: Any
) -> None:
    vehicle_id = describe(tmp_path / "store", described())
    finger = make_phone()
    work = finger.app.work
    job_id = begin_callback(
        work.store, work.library, vehicle_id, work.clock(), ["charges_slowly"], "Slow"
    )
    page = finger.app.navigator.show("circuit", job_id=job_id)
    page.enter(Point.START_BATTERY_VOLTAGE)
    finger.frames(3)
    keyboard(finger, "1", "2", BLOCK_POINT, "6", ENTER)
    assert work.callback.value(Point.START_BATTERY_VOLTAGE) == 12.6


def test_the_first_key_replaces_what_stood_in_the_field(charger_page: Any) -> None:
    rated = field(charger_page, "Rated output")
    charger_page.tap(rated)
    keyboard(charger_page, "2", ENTER)
    charger_page.tap(rated)
    charger_page.tap(key_at(charger_page, "5"))
    charger_page.tap(key_at(charger_page, "0"))
    assert rated.text == "50"
    charger_page.tap("Done")
    charger_page.tap(rated)
    keyboard(charger_page, BACKSPACE, "5")
    assert rated.text == "55", "erasing first goes on with what stood there"


@pytest.mark.parametrize(
    ("written", "kept", "named"),
    [
        ("Bee \N{GRINNING FACE}hive", "Bee hive", "Grinning face"),
        ("\N{ARABIC LETTER BEH}\N{ARABIC LETTER ALEF} ute", " ute", "Arabic letter alef"),
        ("\N{DEVANAGARI LETTER KA}", "", "Devanagari letter ka"),
        ("a\N{ZERO WIDTH JOINER}b", "ab", "Zero width joiner"),
    ],
)
def test_letters_that_cannot_be_drawn_are_refused_with_a_reason_and_the_rest_stays(
    charger_page: Any, written: str, kept: str, named: str
) -> None:
    write(charger_page, "How the profile is set", "Link 2. ")
    write(charger_page, "How the profile is set", written)
    notes = field(charger_page, "How the profile is set")
    assert notes.text == f"Link 2. {kept}"
    assert charger_page.sees(f"Left out: {named}")
    charger_page.tap(field(charger_page, "IP code").ids.input)
    write(charger_page, "How the profile is set", "!")
    assert notes.left_out == ""


@pytest.mark.parametrize("written", ["Grüße", "Łódź", "Ångström 16 mm² ±5 µΩ", "Ярослав", "Ωμέγα"])
def test_letters_of_european_scripts_are_taken_as_they_are(written: str) -> None:
    assert letters.sorted_out(written) == (written, "")


def test_a_letter_and_its_accent_become_one() -> None:
    assert letters.sorted_out(unicodedata.normalize("NFD", "Café")) == ("Café", "")


def test_the_printed_record_has_every_letter_that_can_be_typed() -> None:
    printed = [set(TTFont(FONTS / file).getBestCmap()) for file in FACES.values()]
    written = [chr(code) for code in range(0x110000) if letters._can_be_written(chr(code))]
    assert len(written) > 500
    assert all(ord(letter) in face for letter in written for face in printed if letter != "\n")
    assert "\N{MANAT SIGN}" not in written, "the screen has it, the record has not"
