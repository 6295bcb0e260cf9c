import io
import os

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pypdf import PdfReader, PdfWriter

from logic.errors import BrokenSealError
from logic.records.paper.reader import check_pdf
from logic.records.paper.report import ATTACHMENT, compose, write_pdf
from logic.records.verify import SealCheck
from tests.logic.records.record_strategies import RECORDS
from tests.logic.records.sample_records import (
    LIBRARY_VAN,
    PRIVATE,
    callback,
    commissioning,
    seal,
    signed,
)

FUZZ = settings(
    max_examples=int(os.environ.get("HYPOTHESIS_FUZZ", "60")),
    deadline=None,
    suppress_health_check=list(HealthCheck),
)
SEALED = seal(commissioning(), PRIVATE)
PDF = compose(SEALED, {}.get)


def saved(folder, content=PDF):
    path = folder / "record.pdf"
    path.write_bytes(content)
    return path


def written(writer):
    content = io.BytesIO()
    writer.write(content)
    return content.getvalue()


def with_attachment(content, name=ATTACHMENT):
    writer = PdfWriter()
    for page in PdfReader(io.BytesIO(PDF)).pages:
        writer.add_page(page)
    writer.metadata = None
    if content is not None:
        writer.add_attachment(name, content)
    return written(writer)


def with_page_text(old, new):
    """Change what a page shows and nothing else, glyph for glyph."""
    writer = PdfWriter(clone_from=io.BytesIO(PDF))
    for page in writer.pages:
        reader_fonts = page["/Resources"]["/Font"]
        for font in reader_fonts.values():
            glyphs = glyphs_of(font.get_object())
            if not set(old + new) <= set(glyphs):
                continue
            was = b"".join(glyphs[letter] for letter in old)
            now = b"".join(glyphs[letter] for letter in new)
            stream = page.get_contents()
            data = stream.get_data()
            stream.set_data(data.replace(was, now))
            page[next(k for k in page if k == "/Contents")] = stream
    return written(writer)


def glyphs_of(font):
    found = {}
    for line in font["/ToUnicode"].get_object().get_data().decode().splitlines():
        parts = line.strip().strip("<>").split("> <")
        if len(parts) == 2 and len(parts[1]) == 4:
            found[chr(int(parts[1], 16))] = bytes.fromhex(parts[0])
    return found


@pytest.mark.parametrize("sealed", [SEALED, seal(commissioning()), seal(callback(), PRIVATE)])
def test_a_printed_record_comes_out_as_it_went_in(tmp_path, sealed):
    write_pdf(sealed, {}.get, tmp_path / "record.pdf")
    checked = check_pdf(tmp_path / "record.pdf")
    assert checked.sealed == sealed
    assert checked.complaints == ()


def test_it_is_intact_with_its_photos_printed(tmp_path):
    import hashlib

    from PIL import Image

    content = io.BytesIO()
    Image.linear_gradient("L").convert("RGB").save(content, "JPEG")
    digest = hashlib.sha256(content.getvalue()).hexdigest()
    photo = tmp_path / "photo.jpg"
    photo.write_bytes(content.getvalue())
    plate = LIBRARY_VAN.charger.model_copy(update={"plate_photo": digest})
    fitted = LIBRARY_VAN.model_copy(update={"charger": plate})
    # Of the one's steps a photo is missing, of the other's two; its plate is there.
    cases = (
        (commissioning(digest), "1 photo that the record names is not shown"),
        (commissioning(installation=fitted), "2 photos that the record names are not shown"),
    )
    for record, said in cases:
        write_pdf(seal(record), {digest: photo}.get, tmp_path / "record.pdf")
        checked = check_pdf(tmp_path / "record.pdf")
        assert checked.complaints == ()
        assert not any("not compared" in remark for remark in checked.remarks)
        assert any(remark.startswith(said) for remark in checked.remarks)


def test_a_changed_attachment_is_caught(tmp_path):
    changed = SEALED.model_dump_json().replace('"value":0.92', '"value":0.12').encode()
    checked = check_pdf(saved(tmp_path, with_attachment(changed)))
    assert not checked.intact


def test_another_records_attachment_is_caught_by_the_hash_on_the_pages(tmp_path):
    other = seal(commissioning(place="elsewhere"), PRIVATE)
    content = with_attachment(other.model_dump_json().encode())
    complaints = check_pdf(saved(tmp_path, content)).complaints
    assert any(SEALED.sha256 in said and other.sha256 in said for said in complaints)


def test_a_changed_page_is_caught_and_both_sayings_are_named(tmp_path):
    complaints = check_pdf(saved(tmp_path, with_page_text("0.92 V lost", "0.12 V lost"))).complaints
    said = " ".join(complaints)
    assert "The pages say “0.12 V lost" in said
    assert "The record says “0.92 V lost" in said


def test_a_pdf_without_a_record_is_refused(tmp_path):
    with pytest.raises(BrokenSealError, match="no attachment named"):
        check_pdf(saved(tmp_path, with_attachment(None)))


@pytest.mark.parametrize("content", [b"", b"hello", b"%PDF-1.7\n", PDF[:2000]])
def test_what_is_no_pdf_is_refused(tmp_path, content):
    with pytest.raises(BrokenSealError):
        check_pdf(saved(tmp_path, content))


def test_a_missing_file_is_refused(tmp_path):
    with pytest.raises(BrokenSealError, match="cannot be read"):
        check_pdf(tmp_path / "nowhere.pdf")


@FUZZ
@given(st.lists(st.tuples(st.integers(0, len(PDF) - 1), st.integers(0, 255)), max_size=30))
def test_any_flipped_bytes_are_an_answer_or_a_clear_error(tmp_path_factory, changes):
    content = bytearray(PDF)
    for place, value in changes:
        content[place] = value
    path = saved(tmp_path_factory.getbasetemp(), bytes(content))
    try:
        answer = check_pdf(path)
    except BrokenSealError as error:
        answer = str(error)
    assert isinstance(answer, SealCheck) or answer.endswith(".")


@settings(
    max_examples=10, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(RECORDS, st.sampled_from([seal, signed]))
def test_any_record_is_intact_on_paper_and_its_pages_are_compared(tmp_path, record, made):
    write_pdf(made(record), {}.get, tmp_path / "record.pdf")
    checked = check_pdf(tmp_path / "record.pdf")
    assert (checked.complaints, checked.pages_not_compared) == ((), "")
