"""A hostile PDF ends in a sentence of ours, or as not intact, and costs little memory."""

import tracemalloc

import pytest

from logic.errors import BrokenSealError
from logic.records.paper.reader import check_pdf_bytes
from logic.records.record import StepRecord
from tests.logic.records.paper.hostile_prints import ONE_PAGE, PAGE, hostile, stream, with_record
from tests.logic.records.sample_records import PRIVATE, commissioning, seal

SEALED = seal(commissioning(), PRIVATE)
HOSTILE = dict(hostile(SEALED.model_dump_json().encode()))
MOST = 200_000_000  # bytes; the gigabytes that the files promise are five times that


def steps(count):
    return tuple(
        StepRecord(step_id=f"s{at}", stage_id=f"a{at}", title="t", outcome="open")
        for at in range(count)
    )


def few_pages_of(record):
    attached = stream(seal(record).model_dump_json().encode())
    return with_record(attached, ONE_PAGE, PAGE, stream(b""), b"<<>>")


def test_a_record_that_prints_far_more_pages_is_given_up_early():
    checked = check_pdf_bytes(few_pages_of(commissioning(steps=steps(300))), "record.pdf")
    assert checked.complaints == ("It has 1 pages; the record prints more than 4.",)


def test_a_record_without_end_is_not_printed_again():
    checked = check_pdf_bytes(few_pages_of(commissioning(steps=steps(4000))), "record.pdf")
    assert checked.intact
    assert checked.pages_not_compared == "The record is too long to be printed again here."


def test_an_attachment_far_too_large_is_refused():
    with pytest.raises(BrokenSealError, match="far too large"):
        check_pdf_bytes(few_pages_of(commissioning(steps=steps(10_000))), "record.pdf")


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_file_ends_in_a_sentence_and_costs_little(name):
    tracemalloc.start()
    try:
        checked = check_pdf_bytes(HOSTILE[name], "record.pdf")
        said = [*checked.complaints, checked.pages_not_compared]
        assert any(said)
    except BrokenSealError as error:
        said = [str(error)]
    finally:
        _, most = tracemalloc.get_traced_memory()
        tracemalloc.stop()
    assert all(one == "" or one.endswith(".") for one in said)
    assert most < MOST
