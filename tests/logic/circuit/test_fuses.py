import pytest
from hypothesis import given
from hypothesis import strategies as st

from logic.circuit.fuses import fuse_resistance


# Assumed: a link loses 0.05 to 0.1 V at its rating.
@pytest.mark.parametrize("rating", [30, 40, 60, 100])
def test_a_fuse_loses_some_hundredths_of_a_volt_at_its_rating(rating):
    assert 0.05 <= rating * fuse_resistance(rating) <= 0.1


@given(rating=st.floats(1, 500))
def test_a_larger_fuse_never_has_more_resistance(rating):
    assert fuse_resistance(2 * rating) < fuse_resistance(rating)
