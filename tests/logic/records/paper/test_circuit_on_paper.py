import pytest
from pypdf import PdfReader

from logic.case import Reading
from logic.diagram.primitives import Ink
from logic.diagram.text import LEFT_OUT
from logic.records.paper.circuit import COLOURS
from logic.records.paper.report import write_pdf
from logic.vehicle.points import Point, State
from tests.logic.records.sample_records import PRIVATE, callback, commissioning, judged, seal


def first_page(record, folder):
    path = folder / "record.pdf"
    write_pdf(seal(record, PRIVATE), lambda _sha256: None, path)
    return PdfReader(path).pages[0].extract_text()


def test_the_first_page_shows_what_was_read_at_its_posts(tmp_path):
    said = first_page(commissioning(), tmp_path)
    assert "What was read: engine idling" in said
    for words in ("Start battery", "13.94 V", "38.4 A", "0.920 V", "3× limit"):
        assert words in said
    for words in ("in range", "marginal", "out of range", "dashed: not read"):
        assert words in said


def test_a_repair_is_shown_before_and_after_side_by_side(tmp_path):
    said = first_page(callback(), tmp_path)
    for words in ("Before the repair: engine idling", "0.920 V", "3× limit"):
        assert words in said
    for words in ("After the repair: engine idling", "0.118 V", "in order"):
        assert words in said


def test_a_callback_without_a_repair_shows_what_was_read(tmp_path):
    read = (Reading(point=Point.START_BATTERY_VOLTAGE, state=State.REST, value=12.61),)
    record = callback().model_copy(
        update={"readings": read, "readings_after": (), "diagnosis": None, "verdicts": ()}
    )
    said = first_page(record, tmp_path)
    assert "What was read: key off, rested" in said
    assert "12.61 V" in said


def test_a_record_without_readings_has_no_picture(tmp_path):
    record = commissioning(steps=())
    said = first_page(record, tmp_path)
    assert "What was read" not in said
    assert "dashed" not in said


def test_a_figure_that_no_slot_could_hold_is_said_to_be_left_out(tmp_path):
    far = judged("start_battery_voltage", "idle", 1.23456e250, (12.0, 14.0), "out_of_range")
    record = callback().model_copy(
        update={"readings": (), "readings_after": (), "diagnosis": None, "verdicts": (far,)}
    )
    assert LEFT_OUT in first_page(record, tmp_path).split()
    assert LEFT_OUT not in first_page(callback(), tmp_path).split()


def luminance(colour):
    # WCAG 2.2, relative luminance of an sRGB colour.
    parts = [c / 255 for c in colour]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return sum(weight * c for weight, c in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


GROUNDS = {
    Ink.GROUND,
    Ink.SURFACE,
    Ink.TINT,
    Ink.MAIN_WORDS,
    Ink.VERDICT_WORDS,
    Ink.LIT,
}


@pytest.mark.parametrize("ink", sorted(set(Ink) - GROUNDS))
def test_every_ink_stands_out_from_the_paper_and_the_shade_of_the_charger(ink):
    # WCAG 2.2, 1.4.3: 4.5 to 1 for text.
    for ground in (COLOURS[Ink.GROUND], COLOURS[Ink.TINT]):
        assert (luminance(ground) + 0.05) / (luminance(COLOURS[ink]) + 0.05) >= 4.5


def test_every_ink_has_a_colour_on_paper():
    assert set(COLOURS) == set(Ink)
