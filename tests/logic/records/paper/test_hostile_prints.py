"""A hostile PDF ends in a sentence of ours, or as not intact, and costs little memory."""

import tracemalloc

import pytest

from logic.errors import BrokenSealError
from logic.records.paper.reader import check_pdf_bytes
from tests.logic.records.paper.hostile_prints import hostile
from tests.logic.records.sample_records import PRIVATE, commissioning, seal

SEALED = seal(commissioning(), PRIVATE)
HOSTILE = dict(hostile(SEALED.model_dump_json().encode()))
MOST = 200_000_000  # bytes; the gigabytes that the files promise are five times that


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
