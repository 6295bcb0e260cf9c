"""The one file that may be read by other apps: one at a time, and none after an erasure."""

import pytest

from mobile.jobs import shared_file


def test_one_file_at_a_time_lies_there(tmp_path):
    for name in ("first.pdf", "second.pdf"):
        (tmp_path / name).write_text(name)
        copy = shared_file.put(tmp_path, tmp_path / name)
        assert copy.read_text() == name
        assert list((tmp_path / "shared").iterdir()) == [copy]


def test_a_file_that_has_gone_leaves_nothing_to_be_read(tmp_path):
    (tmp_path / "first.pdf").write_text("first")
    shared_file.put(tmp_path, tmp_path / "first.pdf")
    with pytest.raises(OSError, match=r"gone\.pdf"):
        shared_file.put(tmp_path, tmp_path / "gone.pdf")
    assert list((tmp_path / "shared").iterdir()) == []


def test_what_was_shared_is_forgotten_also_where_nothing_was(tmp_path):
    shared_file.forget(tmp_path)
    (tmp_path / "first.pdf").write_text("first")
    shared_file.put(tmp_path, tmp_path / "first.pdf")
    shared_file.forget(tmp_path)
    assert list((tmp_path / "shared").iterdir()) == []
