"""Page one: what the customer reads and signs, the same on the glass and on paper."""

import re

import pytest
from pypdf import PdfReader

from logic.case import OutOfReach, Verdict
from logic.checklist.answers import ChoiceAnswer
from logic.records.events import CauseConcluded
from logic.records.front_page import front_page
from logic.records.paper.report import write_pdf
from logic.records.record import Signature, StepHistory
from logic.records.repair_proof import proof
from logic.vehicle.identity import Technician, Vehicle
from tests.logic.records.sample_records import (
    PRIVATE,
    SIGNED,
    callback,
    commissioning,
    commissioning_steps,
    judged,
    reading,
    seal,
    step,
)

ADVICE = ("The unit gets hot to the touch in use. That is normal; covering it is not.",)
REMARK = "A remark about the paint, the lug and the bolt of the body joint. " * 8


def first_and_all(record, folder, private=PRIVATE):
    """Return the text of page one and of all pages."""
    path = folder / "record.pdf"
    write_pdf(seal(record, private), {}.get, path)
    pages = [re.sub(r"\s+", " ", page.extract_text()) for page in PdfReader(path).pages]
    return pages[0], " ".join(pages)


def texts_of(page):
    yield from (page.title, page.workshop, page.vehicle, page.headline, page.outcome, page.signed)
    for rows in (page.about, *(part.rows for part in page.parts)):
        for label, words in rows:
            yield from (label, words)
    for part in page.parts:
        yield part.title
    for shown in page.circuits:
        yield shown.title
    for signer in page.signers:
        yield f"{signer.role}: {signer.name}"


def long_winded():
    """A record in which everything that can be long is."""
    steps = tuple(
        one.model_copy(update={"explanation": REMARK, "notes": (REMARK,)})
        if one.is_exception
        else one
        for one in commissioning_steps("a" * 64)
    )
    still_open = tuple(
        step("hand_over", f"open_{n}", f"Open step number {n} with a long title", outcome="open")
        for n in range(9)
    )
    return commissioning(
        steps=(*steps, *still_open),
        place="The yard behind the old dairy, " * 6,
        vehicle=Vehicle(registration="WWWWWWWWW WWWWWWWWWW", description="library van " * 10),
        technician=Technician(
            name="Rosalind Quillfeather " * 5, licence="class B " * 9, workshop="Fernhollow " * 10
        ),
        advice=tuple(f"{n}. Little current into a full battery is right. " * 2 for n in range(14)),
    )


@pytest.mark.parametrize("record", [commissioning(advice=ADVICE), callback(), long_winded()])
def test_everything_on_it_stands_on_the_first_printed_page(record, tmp_path):
    first, _ = first_and_all(record, tmp_path)
    for text in texts_of(front_page(record, PRIVATE)):
        assert " ".join(text.split()) in first


def test_the_code_and_both_signatures_are_on_it_however_long_the_rest_is(tmp_path):
    path = tmp_path / "record.pdf"
    write_pdf(seal(long_winded(), PRIVATE), {}.get, path)
    first, second = PdfReader(path).pages[:2]
    assert "hash of this record" in first.extract_text()
    assert "Signed 24 November 2026" in first.extract_text()
    assert "About this record" in second.extract_text()


def test_it_says_what_the_unit_gives_of_its_rating():
    page = front_page(commissioning(), PRIVATE)
    assert page.headline == "Charges 38.4 A of 40 A, engine idling, at its limit."


def test_the_losses_stand_with_the_fuses():
    parts = {part.title: dict(part.rows) for part in front_page(commissioning(), PRIVATE).parts}
    runs = parts["Cables, fuses and what they lose"]
    assert runs["Vehicle feed"] == "fuse 60 A"
    assert runs["Vehicle return"] == "loses 0.920 V (at most 0.310 V), out of range"


def test_exceptions_and_what_was_left_open_are_on_it():
    parts = {part.title: dict(part.rows) for part in front_page(long_winded(), PRIVATE).parts}
    assert parts["Exceptions"]["Loss in the vehicle return"].startswith("0.920 V, out of range.")
    assert parts["Left out or left open"]["Left open"].endswith("; and 6 more")
    assert "Tray lining is glued down" in parts["Left out or left open"]["Left out"]


def test_what_is_shortened_on_it_follows_whole(tmp_path):
    first, pages = first_and_all(long_winded(), tmp_path)
    assert REMARK.strip() not in first
    assert f"Explanation: {REMARK.strip()}" in pages
    assert "Rosalind Quillfeather " * 4 in pages


def test_a_callback_says_complaint_cause_repair_before_and_after_and_whose_matter():
    page = front_page(callback().model_copy(update={"proof": "Proved: it is."}), PRIVATE)
    rows = {label: words for part in page.parts for label, words in part.rows}
    assert page.headline == "Proved: it is."
    assert rows["In the customer's words"].startswith("House battery flat after a day's driving")
    assert rows["Cause"] == "Paint under the return's lug at the body."
    assert rows["Work done"] == "Lug moved to bare metal and sealed."
    assert rows["Whose matter"] == "The installation's wiring"
    assert rows["Drop in the vehicle return, engine idling"] == (
        "before 0.920 V, out of range; after 0.118 V, in range"
    )


def test_a_copy_without_names_has_no_signatures_on_it(tmp_path):
    first, _ = first_and_all(callback(), tmp_path, private=None)
    assert "Signatures: left out of this copy" in first
    assert "Shire Library" not in first


def test_who_did_not_sign_yet_is_named_without_a_stroke():
    private = PRIVATE.model_copy(update={"customer_signature": Signature(name="A. Tolley")})
    technician, customer = front_page(callback(), private).signers
    assert (customer.name, customer.drawn.strokes) == ("A. Tolley", ())
    assert technician.drawn.strokes


def test_a_correction_is_told_in_the_words_of_the_step(tmp_path):
    earlier = StepHistory(
        at=SIGNED, answer=ChoiceAnswer(choice="always_live"), text="a feed live with the key off"
    )
    steps = (step("any", "any", "Ignition", outcome="done", text="switched", history=(earlier,)),)
    _, pages = first_and_all(commissioning(steps=steps), tmp_path)
    assert "(UTC+10:00): a feed live with the key off" in pages
    assert "lways live" not in pages


def after(value, verdict="in_range", point="vehicle_return_drop"):
    return Verdict.model_validate(judged(point, "idle", value, (None, 0.31), verdict).model_dump())


FOUND = CauseConcluded(faults=("vehicle_return_resistive",), cause="Paint", repair="Cleaned")


def test_a_repair_is_proved_by_its_own_readings():
    from logic.diagnosis.catalogue import check_readings

    due = check_readings(FOUND.faults)
    taken = [after(0.1).model_copy(update={"point": key.point, "state": key.state}) for key in due]
    assert proof(FOUND, taken, ()) == "Proved: what the fault touched is in order again."
    assert proof(FOUND, taken[1:], ()).startswith(f"Not proved: 1 of {len(due)} proof reading")
    beyond = [OutOfReach(point=due[0].point, state=due[0].state)]
    assert proof(FOUND, taken[1:], beyond).endswith("could not be reached.")


def test_a_reading_still_out_of_range_proves_nothing():
    said = proof(FOUND, [after(0.9, "out_of_range")], ())
    assert said == (
        "Not proved: drop in the vehicle return, engine idling is out of range after the work."
    )


def test_where_nothing_was_concluded_nothing_is_proved():
    assert proof(None, (), ()) == ""


def test_every_figure_has_its_nought_and_a_real_minus():
    small = judged("vehicle_return_drop", "idle", 0.186, (None, 0.31))
    back = judged("output_current", "idle", -0.1, (38.0, 43.2), "out_of_range", "No.")
    steps = (reading("any", "Return", small), reading("any", "Output", back))
    page = front_page(commissioning(steps=steps), PRIVATE)
    said = " ".join(texts_of(page))
    assert "0.186 V" in said
    assert "−0.1 A" in said
    assert not re.search(r"(?<![\d])\.\d", said)


IDENTITY = {"model": "Drover 40", "serial_number": "FH-0042-7", "warranty": "unit"}


def identified(record):
    unit = record.installation.charger
    known = type(unit).model_validate(unit.model_dump() | IDENTITY)
    fitted = record.installation.model_copy(update={"charger": known})
    return record.model_copy(update={"installation": fitted})


@pytest.mark.parametrize("made", [commissioning, callback])
def test_page_one_names_the_unit_where_it_is_known(made, tmp_path):
    first, whole = first_and_all(identified(made()), tmp_path)
    assert "Drover 40; serial number FH-0042-7; under warranty: unit only (its maker)" in first
    assert "Serial number FH-0042-7" in whole
    unknown, _ = first_and_all(made(), tmp_path)
    assert "serial number" not in unknown
    assert "Which unit" not in unknown


def test_what_names_the_unit_is_left_out_of_the_signed_text_where_it_is_not_known():
    known = identified(commissioning()).installation.charger.model_dump(mode="json")
    unknown = commissioning().installation.charger.model_dump(mode="json")
    assert set(known) - set(unknown) == set(IDENTITY)
