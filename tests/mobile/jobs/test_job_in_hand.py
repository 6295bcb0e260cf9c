import pytest
from hypothesis import given
from hypothesis import strategies as st

from mobile.jobs.job_in_hand import read_drafts, write_drafts

STEPS = st.text("abcdef_", min_size=1, max_size=20)
TEXTS = st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=60)


@given(st.dictionaries(STEPS, st.dictionaries(STEPS, TEXTS, min_size=1), max_size=5), STEPS)
def test_what_was_typed_comes_back_as_it_was(typed, step):
    assert read_drafts(write_drafts(typed, step)) == typed


@given(st.text(max_size=40))
def test_a_bookmark_of_another_version_is_no_error(text):
    assert read_drafts(text) in ({}, read_drafts(text))


@pytest.mark.parametrize("text", ["", "[]", "3", '{"drafts": 3}', '{"drafts": {"a": 1}}', "{"])
def test_a_text_that_holds_no_drafts_gives_none(text):
    assert read_drafts(text) == {}


def test_where_there_is_too_much_the_step_in_hand_keeps_its_own():
    typed = {f"step_{i}": {"text": "x" * 1000} for i in range(8)}
    kept = read_drafts(write_drafts(typed, "step_3"))
    assert kept["step_3"] == typed["step_3"]
    assert len(write_drafts(typed, "step_3")) <= 4000
