"""What PDF/A-3B asks of a printed record, as far as a PDF library can see it.

ISO 19005-3:2012, clause numbers from memory. A full validator was not at hand.
"""

import io

import pytest
from pypdf import PdfReader
from pypdf.generic import ContentStream

from logic.records.paper.report import ATTACHMENT, HASHED, compose
from tests.logic.records.sample_records import PRIVATE, commissioning, seal

pytestmark = pytest.mark.outside

PDF = compose(seal(commissioning(place="北京 Ω ✓"), PRIVATE), {}.get)


@pytest.fixture(scope="module")
def reader():
    return PdfReader(io.BytesIO(PDF), strict=True)


@pytest.fixture(scope="module")
def catalog(reader):
    return reader.root_object


def fonts(reader):
    found = {}
    for page in reader.pages:
        found |= page["/Resources"]["/Font"]
    return [font.get_object() for font in found.values()]


def test_6_1_2_the_head_marks_it_as_binary():
    assert PDF.startswith(b"%PDF-1.7\n%")
    assert all(byte > 127 for byte in PDF[10:14])


def test_6_1_3_it_has_an_id_and_is_not_encrypted(reader):
    assert len(reader.trailer["/ID"]) == 2
    assert not reader.is_encrypted


def test_6_2_3_its_colours_are_those_of_an_embedded_rgb_profile(catalog):
    (intent,) = catalog["/OutputIntents"]
    profile = intent.get_object()["/DestOutputProfile"].get_object()
    assert intent.get_object()["/S"] == "/GTS_PDFA1"
    assert profile["/N"] == 3
    assert profile.get_data()[36:40] == b"acsp"  # an ICC profile's signature, ICC.1, 7.2


def test_6_2_11_every_font_is_embedded_with_widths_and_a_map(reader):
    assert len(fonts(reader)) == 2
    for font in fonts(reader):
        below = font["/DescendantFonts"][0].get_object()
        assert font["/Encoding"] == "/Identity-H"
        assert {"/W", "/CIDToGIDMap", "/CIDSystemInfo"} <= set(below)
        assert below["/FontDescriptor"].get_object()["/FontFile2"].get_object().get_data()


def drawn(page):
    """Yield the two-byte codes of every letter on a page."""
    for operands, operator in ContentStream(page.get_contents(), page.pdf).operations:
        parts = operands[0] if operator == b"TJ" else operands if operator == b"Tj" else ()
        for part in parts:
            if isinstance(part, str | bytes):
                codes = part.original_bytes
                yield from (codes[place : place + 2] for place in range(0, len(codes), 2))


def test_6_2_11_8_no_missing_glyph_is_ever_drawn(reader):
    codes = [code for page in reader.pages for code in drawn(page)]
    assert len(codes) > 2000
    assert b"\0\0" not in codes  # glyph 0 is ".notdef", and codes are glyphs
    assert "□□ Ω ✓" in " ".join(page.extract_text() for page in reader.pages)


def test_6_3_and_6_5_nothing_in_it_acts_or_annotates(reader, catalog):
    assert not {"/AA", "/JavaScript", "/AcroForm"} & {*catalog, *catalog["/Names"]}
    assert not any("/Annots" in page for page in reader.pages)


def test_6_6_its_metadata_is_plain_xmp_that_names_part_and_level(catalog):
    stream = catalog["/Metadata"].get_object()
    assert "/Filter" not in stream
    said = stream.get_data().decode()
    assert "<pdfaid:part>3</pdfaid:part>" in said
    assert "<pdfaid:conformance>B</pdfaid:conformance>" in said


@pytest.mark.parametrize(
    ("index", "name", "kind"),
    [(0, ATTACHMENT, "/application/json"), (1, HASHED, "/text/plain")],
)
def test_6_8_each_attachment_is_named_typed_dated_and_related(catalog, index, name, kind):
    assert len(catalog["/AF"]) == 2
    spec = catalog["/AF"][index].get_object()
    file = spec["/EF"]["/F"].get_object()
    assert spec["/F"] == spec["/UF"] == name
    assert spec["/AFRelationship"] == "/Data"
    assert file["/Subtype"] == kind
    assert file["/Params"]["/ModDate"].startswith("D:20261124")
