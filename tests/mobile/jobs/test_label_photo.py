"""A photographed label to its text, by the desk's decoder; the phone's is in test_java.py."""

from io import BytesIO

import pytest
from PIL import Image

from logic.errors import InputError
from logic.records.label.encoding import decode, encode
from mobile.jobs.label_photo import read_label
from mobile.ui.code_reader import codes_in
from tests.logic.records.label.label_samples import full_walk
from tests.logic.records.sample_records import commissioning, seal
from tests.mobile.label_photographed import Shot, photograph

SHOTS = {
    "held still": Shot(),
    "turned": Shot(turned=37),
    "upside down": Shot(turned=180),
    "from aside": Shot(turned=12, aslant=0.35),
    "blurred": Shot(blur=4),
    "far away": Shot(filled=0.22),
    "in the dark": Shot(light=0.18, noise=6),
    "with a reflection": Shot(glare=0.18),
    "all at once": Shot(turned=-25, aslant=0.25, blur=2.2, light=0.4, glare=0.08, noise=7),
    "camera on its side": Shot(upright_by_exif=True),
}


@pytest.mark.outside
@pytest.mark.parametrize("shot", SHOTS.values(), ids=SHOTS)
def test_a_label_is_read_from_a_photo(shot):
    sealed = seal(commissioning())
    text = read_label(photograph(sealed, shot), codes_in)
    assert text == encode(sealed)
    assert decode(text).registration == sealed.record.vehicle.registration


@pytest.mark.outside
def test_the_longest_label_is_read_from_a_photo():
    sealed = full_walk()
    shot = Shot(turned=10, aslant=0.15, blur=1.5)
    assert read_label(photograph(sealed, shot), codes_in) == encode(sealed)


@pytest.mark.outside
@pytest.mark.parametrize("shot", [Shot(blur=12), Shot(light=0, noise=0), Shot(glare=0.9)])
def test_a_photo_without_a_readable_code_says_what_to_do(shot):
    with pytest.raises(InputError, match="hold the phone closer"):
        read_label(photograph(seal(commissioning()), shot), codes_in)


@pytest.mark.parametrize("data", [b"", b"no picture", b"\xff\xd8\xff\xe0"])
def test_a_file_without_a_picture_says_so(data):
    with pytest.raises(InputError, match="no picture in this file"):
        read_label(data, codes_in)


def test_a_code_of_something_else_is_told_from_none():
    picture = BytesIO()
    Image.new("L", (60, 60), 200).save(picture, "PNG")
    with pytest.raises(InputError, match="not a label of this app"):
        read_label(picture.getvalue(), lambda _: ["https://example.org/"])


def test_a_large_photo_is_offered_in_several_sizes_and_none_is_larger_than_it_helps():
    offered, picture = [], BytesIO()
    Image.new("RGB", (4000, 3000), "grey").save(picture, "JPEG")

    def note(seen):
        offered.append(seen.size)
        return []

    with pytest.raises(InputError):
        read_label(picture.getvalue(), note)
    assert [max(size) for size in offered] == [1600, 2400, 1100, 800]
