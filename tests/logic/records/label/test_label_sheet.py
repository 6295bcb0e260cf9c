import random
import re

import pytest
from PIL import Image, ImageChops, ImageFilter
from pypdf import PdfReader

from logic.records.label.encoding import decode, encode
from logic.records.label.sticker import picture, write_label_pdf, write_label_png
from logic.vehicle.identity import Technician, Vehicle
from tests.logic.records.label.label_samples import full_walk
from tests.logic.records.sample_records import commissioning, seal, signed

zxingcpp = pytest.importorskip("zxingcpp")
pytestmark = pytest.mark.outside


def read(image):
    found = zxingcpp.read_barcodes(image)
    return [one.text for one in found]


@pytest.fixture(scope="module", params=[seal, signed], ids=["sealed", "signed"])
def walk(request):
    return full_walk(request.param)


@pytest.fixture(scope="module")
def sticker(walk):
    return picture(walk).convert("L")


def noisy(image, spread=90):
    noise = Image.effect_noise(image.size, spread)
    return ImageChops.add(image, noise, scale=1, offset=-128)


def half_lit(image):
    shade = Image.linear_gradient("L").resize(image.size).point(lambda level: 90 + level // 2)
    return ImageChops.multiply(image, shade)


def height_of(image):
    """Return how high a sticker is, in mm: it is 62 mm wide."""
    return 62 * image.height / image.width


def at_arms_length(image):
    # Assumed camera: 4000 pixels over 65° at 0.6 m cover about 0.76 m, so 5.2 pixels a mm.
    wide = image.resize((round(62 * 5.2), round(height_of(image) * 5.2)), Image.Resampling.BOX)
    return wide.filter(ImageFilter.GaussianBlur(0.8))


def spotted(image):
    """Dirt: twelve dark spots of about a millimetre anywhere on the sticker."""
    spots = random.Random(4)
    dirty = image.copy()
    for _ in range(12):
        x, y = spots.randrange(image.width - 12), spots.randrange(image.height - 12)
        dirty.paste(40, (x, y, x + 12, y + 12))
    return dirty


@pytest.mark.parametrize(
    "seen",
    [
        lambda image: image,
        lambda image: image.filter(ImageFilter.GaussianBlur(2.5)),
        noisy,
        half_lit,
        at_arms_length,
        spotted,
        lambda image: image.rotate(17, expand=True, fillcolor=200),
        lambda image: noisy(at_arms_length(half_lit(image)), 8),
    ],
    ids=["as printed", "blurred", "noisy", "half lit", "at arm's length", "dirty", "askew", "all"],
)
def test_another_librarys_reader_gets_the_whole_text(walk, sticker, seen):
    assert read(seen(sticker)) == [encode(walk)]


def test_the_picture_states_its_size(tmp_path):
    path = tmp_path / "label.png"
    write_label_png(seal(commissioning()), path)
    with Image.open(path) as image:
        across, down = (
            side / dots * 25.4 for side, dots in zip(image.size, image.info["dpi"], strict=True)
        )
        assert (across, down) == (pytest.approx(62, abs=0.1), pytest.approx(95, abs=0.1))
        assert decode(read(image.convert("L"))[0]).registration == "LIB 042"


def test_the_pdf_is_62_mm_wide_and_says_so(tmp_path):
    path = tmp_path / "label.pdf"
    write_label_pdf(seal(commissioning()), path)
    (page,) = PdfReader(path).pages
    assert float(page.mediabox.width) / 72 * 25.4 == pytest.approx(62, abs=0.01)
    assert float(page.mediabox.height) / 72 * 25.4 == pytest.approx(95, abs=0.01)
    said = page.extract_text()
    assert "Print 62 × 95 mm, at 100 %" in said
    assert "LIB 042" in said
    assert "Shire" not in said


@pytest.mark.parametrize("plate", ["W" * 20, "北京 12", "Ω²"])
def test_any_plate_prints(tmp_path, plate):
    sealed = seal(commissioning(vehicle=Vehicle(registration=plate)))
    write_label_pdf(sealed, tmp_path / "label.pdf")
    write_label_png(sealed, tmp_path / "label.png")


LONG = Technician(
    name="Rosalind Quillfeather-Montague of the Upper Fernhollow Electricians' Guild",
    licence="EL 00000, restricted to extra-low voltage work on vehicles and trailers",
    workshop="Fernhollow Auto Electrical and Refrigeration of the Upper Valley, Second Van",
)


def said_by(technician, folder, **more):
    path = folder / "label.pdf"
    write_label_pdf(seal(commissioning(technician=technician, **more)), path)
    (page,) = PdfReader(path).pages
    return page, " ".join(page.extract_text().split())


def test_it_says_who_and_when_the_fuses_and_how_it_is_read(tmp_path):
    technician = Technician(name="R. Quill", licence="EL 00000", workshop="Fernhollow")
    _, said = said_by(technician, tmp_path)
    for words in (
        "Commissioned 24 November 2026",
        "by R. Quill, licence EL 00000",
        "Fernhollow",
        "Fuses: vehicle feed 60 A, house feed 60 A",
        "To read the code: Voltwalk, Quick check, Read the label; or scan it with another app",
    ):
        assert words in said


def test_nothing_is_cut_off_and_nothing_runs_over_the_edge(tmp_path):
    page, said = said_by(LONG, tmp_path, vehicle=Vehicle(registration="W" * 20))
    for words in (LONG.name, LONG.licence, LONG.workshop, "W" * 20):
        assert words in said
    assert "…" not in said, "nothing is shortened"
    assert re.search(r"Record SHA-256( [0-9a-f]{8}){8} ", said), "all 64 digits"
    starts = []
    page.extract_text(visitor_text=lambda text, _cm, tm, *_: starts.append((text, tm[4], tm[5])))
    drawn = [(x, y) for text, x, y in starts if text.strip()]
    assert min(x for x, _ in drawn) >= 2 / 25.4 * 72
    assert all(0 < y < float(page.mediabox.height) for _, y in drawn)


def test_long_names_leave_the_code_readable():
    sealed = seal(commissioning(technician=LONG))
    assert read(picture(sealed).convert("L")) == [encode(sealed)]
