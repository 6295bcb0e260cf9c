import pytest
from hypothesis import given
from hypothesis import strategies as st

from mobile.ui.widgets.ruler import window_of

LIMIT = st.one_of(st.none(), st.floats(-50, 50))
VALUE = st.floats(-50, 50)


@given(LIMIT, LIMIT, st.one_of(st.none(), VALUE), st.floats(0, 5))
def test_the_band_with_its_guard_is_always_in_sight(low, high, value, guard):
    marks = [mark for mark in (low, high) if mark is not None]
    if not marks:
        return
    left, right = window_of(low, high, value, guard)
    assert left < min(marks) - guard
    assert right > max(marks) + guard


@given(VALUE)
def test_a_value_in_the_band_is_in_sight(value):
    left, right = window_of(value - 1, value + 1, value, 0.1)
    assert left < value < right


def test_a_value_far_off_does_not_squeeze_the_band():
    assert window_of(12.4, 13.0, 140.0, 0.05) == window_of(12.4, 13.0, None, 0.05)


@pytest.mark.parametrize(
    ("low", "high", "texts"),
    [
        (12.4, 13.0, ["12.40", "13.00"]),
        (None, 0.3, ["0.30"]),
        (9, None, ["9.00"]),
        (0, 0, ["0.00"]),
    ],
)
def test_each_limit_is_written_once(low, high, texts, phone):
    from mobile.ui.widgets.ruler import Ruler

    ruler = Ruler(low=low, high=high, size=(200, 60))
    phone.frames(2)
    assert sorted(tick.text for tick in ruler.children) == texts
