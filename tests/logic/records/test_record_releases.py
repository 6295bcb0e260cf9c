"""A callback that an earlier release signed: its diagnosis is text where it is typed now.

``0.1.0.callback.json`` was made and sealed by release 0.1.0, with what its own diagnosis said of
a poor vehicle return and of a clamp put on the wrong way round.
"""

import json

import pytest
from pypdf import PdfReader

from logic.records.paper.report import write_pdf
from logic.records.seal import digest
from logic.records.verify import check
from tests.paths import RELEASES

FILE = RELEASES / "0.1.0.callback.json"


@pytest.fixture(scope="module")
def checked():
    return check(FILE.read_bytes())


def test_it_verifies_and_is_read(checked):
    assert checked.complaints == ()
    assert checked.sealed.record.diagnosis.findings[0].faults == ("vehicle_return_resistive",)


def test_written_again_it_is_what_was_signed(checked):
    written = json.loads(FILE.read_text(encoding="utf-8"))
    assert json.loads(checked.sealed.model_dump_json()) == written
    assert digest(checked.sealed.record.model_dump(mode="json")) == written["sha256"]
    assert check(checked.sealed).intact


def test_its_evidence_is_said_in_the_words_that_were_signed(checked):
    written = json.loads(FILE.read_text(encoding="utf-8"))["record"]["diagnosis"]["findings"][0]
    said = checked.sealed.record.diagnosis.findings[0].evidence_in_words
    assert list(said) == written["evidence"]
    assert any(line.startswith("Ruled out:") for line in said)


def test_it_prints(checked, tmp_path):
    path = tmp_path / "record.pdf"
    write_pdf(checked.sealed, {}.get, path)
    text = " ".join(" ".join(page.extract_text() for page in PdfReader(path).pages).split())
    assert "Vehicle return drop at idle 1.31 V" in text
    assert "At commissioning it read 0.134 V." in text
