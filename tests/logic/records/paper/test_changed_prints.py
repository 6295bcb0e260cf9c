"""No print that shows or carries anything else than its record is ever said to be intact.

The changes are in ``forged_prints``. Where a change cannot be told from a harmless saving anew,
the answer is that the pages were not compared; the record inside is still said to be intact.
"""

import hashlib
import io
import os
import random

import pytest
from PIL import Image

from logic.errors import BrokenSealError
from logic.records.paper.reader import check_pdf_bytes
from logic.records.paper.report import compose
from logic.records.paper.same_print import is_same_print
from tests.logic.records.paper.forged_prints import FILES_CHANGED, OBJECTS_CHANGED, Dissected
from tests.logic.records.sample_records import PRIVATE, commissioning, seal


def photo():
    content = io.BytesIO()
    Image.linear_gradient("L").convert("RGB").rotate(30).save(content, "JPEG")
    return content.getvalue()


PHOTO = photo()
DIGEST = hashlib.sha256(PHOTO).hexdigest()
SEALED = seal(commissioning(DIGEST), PRIVATE)
PRINT = compose(SEALED, {DIGEST: PHOTO}.get)


def changed(change):
    print_ = Dissected(PRINT)
    change(print_)
    return print_.written()


FORGERIES = {change.__name__: change for change in (*OBJECTS_CHANGED, *FILES_CHANGED)}
# What a reader of PDF cannot tell from a harmless saving anew; only the bytes say it.
ONLY_IN_BYTES = {
    "another_title",
    "a_later_version_of_the_same",
    "another_page_hidden_before_the_table",
    "a_whole_other_file_before_it",
    "something_before_the_head",
    "a_length_that_is_too_short",
    "something_packed_behind_a_pages_end",
    "saved_by_another_program",
    "encrypted",
}
NO_READABLE_FILE = {"another_page_after_the_end", "with_the_record_attached_twice"}
PHOTOS_CHANGED = {"another_photo", "one_byte_of_a_photo"}


def forged(name):
    change = FORGERIES[name]
    content = changed(change) if change in OBJECTS_CHANGED else change(PRINT)
    assert content != PRINT
    return content


def test_a_forger_who_changes_nothing_writes_the_same_file():
    assert Dissected(PRINT).written() == PRINT


def test_there_are_enough_forgeries():
    assert len(FORGERIES) >= 40


@pytest.mark.parametrize("name", sorted(FORGERIES))
def test_a_changed_print_is_never_intact(name):
    content = forged(name)
    if name in NO_READABLE_FILE:
        with pytest.raises(BrokenSealError):
            check_pdf_bytes(content, "record.pdf")
        return
    checked = check_pdf_bytes(content, "record.pdf")
    if name in ONLY_IN_BYTES | PHOTOS_CHANGED:
        assert checked.intact
        assert checked.pages_not_compared
    else:
        assert checked.complaints


@pytest.mark.parametrize("name", sorted(PHOTOS_CHANGED))
def test_another_photo_is_named_where_the_original_is_at_hand(name):
    checked = check_pdf_bytes(forged(name), "record.pdf", originals={DIGEST: PHOTO}.get)
    assert "A picture of page 4 is not the one that the record prints." in checked.complaints


@pytest.mark.parametrize("level", [0, 1, 9])
def test_the_same_print_packed_by_another_zlib_is_intact(level):
    packed = Dissected(PRINT).written(level)
    assert packed != PRINT
    checked = check_pdf_bytes(packed, "record.pdf")
    assert checked.intact
    assert not checked.pages_not_compared


def test_flipped_bytes_are_never_the_same_print_unless_every_stream_unpacks_the_same():
    """2,000 flips by HYPOTHESIS_FUZZ=2000; each is held against the print itself."""
    chance = random.Random(12)
    due = Dissected(PRINT)
    for _ in range(int(os.environ.get("HYPOTHESIS_FUZZ", "400"))):
        content = bytearray(PRINT)
        content[chance.randrange(len(content))] ^= chance.randrange(1, 256)
        if is_same_print(bytes(content), PRINT):
            found = Dissected(bytes(content))
            assert (found.text, found.stream) == (due.text, due.stream)


def test_no_print_is_another_records():
    other = compose(seal(commissioning(DIGEST, place="yard"), PRIVATE), {DIGEST: PHOTO}.get)
    assert not is_same_print(other, PRINT)
    assert not is_same_print(PRINT, other)


@pytest.mark.parametrize("content", [b"", b"%PDF-1.7", PRINT[:-1], PRINT[:3000], PRINT + b"\n"])
def test_a_part_of_a_print_is_not_the_print(content):
    assert not is_same_print(content, PRINT)


# Photos.


def test_a_photo_as_the_app_keeps_it_is_on_the_page_byte_for_byte():
    assert PHOTO in PRINT
    checked = check_pdf_bytes(PRINT, "record.pdf")
    assert (checked.intact, checked.pages_not_compared) == (True, "")


def other_picture():
    """Return a picture that is made into a JPEG for the page."""
    content = io.BytesIO()
    Image.linear_gradient("L").save(content, "PNG")
    return content.getvalue(), hashlib.sha256(content.getvalue()).hexdigest()


def test_another_kind_of_picture_is_compared_where_its_original_is_at_hand():
    picture, digest = other_picture()
    content = compose(seal(commissioning(digest), PRIVATE), {digest: picture}.get)
    checked = check_pdf_bytes(content, "record.pdf", originals={digest: picture}.get)
    assert (checked.intact, checked.pages_not_compared) == (True, "")


def test_where_its_original_is_not_at_hand_that_is_said():
    picture, digest = other_picture()
    content = compose(seal(commissioning(digest), PRIVATE), {digest: picture}.get)
    checked = check_pdf_bytes(content, "record.pdf")
    assert checked.intact
    assert "the originals are not at hand" in checked.pages_not_compared


def test_a_picture_beyond_fifty_megapixels_is_refused_by_its_declared_size():
    content = io.BytesIO()
    Image.new("1", (10_000, 5_001)).save(content, "PNG")
    digest = hashlib.sha256(content.getvalue()).hexdigest()
    assert len(content.getvalue()) < 20_000
    sealed = seal(commissioning(digest), PRIVATE)
    assert compose(sealed, {digest: content.getvalue()}.get) == compose(sealed, {}.get)


def test_a_print_without_its_photos_is_intact_and_the_photos_left_out_are_counted():
    checked = check_pdf_bytes(compose(SEALED, {}.get), "record.pdf", originals={DIGEST: PHOTO}.get)
    assert (checked.intact, checked.pages_not_compared) == (True, "")
    assert "2 photos that the record names are not shown on its pages." in checked.remarks
