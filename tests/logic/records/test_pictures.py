"""Hostile pictures: none is unpacked that would fill the memory, and each is advice.

The bombs are written by hand after the PNG specification (W3C, third edition, 5 and 11.2): a
header that states a size, and a deflate stream of noughts that keeps it.
"""

import hashlib
import io
import random
import struct
import tracemalloc
import zlib

import pytest
from PIL import Image

from logic.errors import InputError
from logic.records import pictures
from logic.records.paper.photos import _picture
from mobile.jobs.label_photo import read_label
from mobile.jobs.photo import prepared, why_not_shown


def chunk(kind, data):
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def bomb(width, height, colour=2):
    """A PNG of nothing but black: RGB unless told otherwise, some 1000 times smaller than it is."""
    channels = {0: 1, 2: 3, 6: 4}[colour]
    squeeze = zlib.compressobj(9)
    row = bytes(1 + width * channels)
    body = b"".join(squeeze.compress(row) for _ in range(height)) + squeeze.flush()
    head = struct.pack(">IIBBBBB", width, height, 8, colour, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", body) + chunk(b"IEND", b"")


def stated(width, height):
    """A PNG that only states its size."""
    head = struct.pack(">IIBBBBB", width, height, 8, 6, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"")) + b"\0"


READERS = {
    "photo of a step": prepared,
    "photo of a label": lambda data: read_label(data, lambda _: []),
}


@pytest.mark.parametrize("read", READERS.values(), ids=READERS)
@pytest.mark.parametrize(
    ("width", "height", "millions"),
    [(7072, 7072, "50"), (10_000, 8_000, "80"), (20_000, 20_000, ""), (60_000, 60_000, "")],
)
def test_more_than_fifty_million_pixels_are_refused_unseen(read, width, height, millions):
    with pytest.raises(InputError, match=f"{millions} million pixels"):
        read(stated(width, height))


def test_a_bomb_costs_no_memory():
    data = bomb(9000, 6000)
    assert len(data) < 200_000
    tracemalloc.start()
    with pytest.raises(InputError):
        prepared(data)
    assert tracemalloc.get_traced_memory()[1] < 5_000_000
    tracemalloc.stop()


def test_the_largest_that_is_taken_comes_out_small():
    with Image.open(io.BytesIO(prepared(bomb(8000, 6000, colour=0)))) as kept:
        assert kept.size == (1600, 1200)


@pytest.mark.parametrize("turned", [1, 6])
def test_a_photo_comes_out_upright(turned):
    exif, written = Image.Exif(), io.BytesIO()
    exif[0x0112] = turned  # orientation: 6 is "rotate a quarter turn", Exif 2.32, 4.6.4
    Image.new("RGB", (400, 200), "grey").save(written, "JPEG", exif=exif)
    with Image.open(io.BytesIO(prepared(written.getvalue()))) as kept:
        assert kept.size == ((400, 200) if turned == 1 else (200, 400))


@pytest.fixture(scope="module")
def sound():
    written = {}
    picture = Image.effect_noise((300, 200), 80).convert("RGB")
    for kind in ("JPEG", "PNG"):
        out = io.BytesIO()
        picture.save(out, kind)
        written[kind] = out.getvalue()
    return written


@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
def test_a_broken_picture_is_advice_or_a_picture_never_the_end(sound, kind):
    chance, told = random.Random(4), []
    for _ in range(300):
        broken = bytearray(sound[kind])
        if chance.random() < 0.5:
            del broken[chance.randrange(1, len(broken)) :]
        for _ in range(chance.randrange(4)):
            broken[chance.randrange(len(broken))] = chance.randrange(256)
        try:
            prepared(bytes(broken))
        except InputError as error:
            told.append(str(error))
    assert len(told) > 50
    assert all("Choose a JPEG or PNG" in text or "million pixels" in text for text in told)


def test_a_bomb_in_a_record_is_left_out_of_the_print_and_said(tmp_path):
    data = stated(30_000, 30_000)
    (tmp_path / "p.png").write_bytes(data)
    assert _picture(tmp_path / "p.png", hashlib.sha256(data).hexdigest(), 10**9)[0] is None


@pytest.mark.parametrize(
    ("data", "told"),
    [(stated(3000, 3000), "far larger"), (stated(30_000, 30_000), "damaged"), (b"no", "damaged")],
)
def test_a_photo_that_came_from_another_phone_is_shown_only_where_it_is_small(tmp_path, data, told):
    (tmp_path / "p.png").write_bytes(data)
    assert told in why_not_shown(tmp_path / "p.png")
    (tmp_path / "p.png").write_bytes(prepared(bomb(3000, 2000)))
    assert why_not_shown(tmp_path / "p.png") == ""
    assert "not on this phone" in why_not_shown(None)


@pytest.mark.parametrize("data", [b"", b"GIF89a" + bytes(40), b"%!PS-Adobe-3.0 EPSF-3.0\n" * 9])
def test_only_what_cameras_write_is_opened(data):
    with pytest.raises(InputError, match="Choose a JPEG or PNG"), pictures.opened(data):
        pass
