from typing import get_type_hints

import pytest

from logic.vehicle import assumed

FIGURES = get_type_hints(assumed, include_extras=True)
SUFFIXES = {"_V": "V", "_A": "A"}


def test_the_figures_are_found_by_their_types():
    assert len(FIGURES) >= 10
    assert all(isinstance(getattr(assumed, name), float) for name in FIGURES)


@pytest.mark.parametrize("name", FIGURES)
def test_every_assumed_figure_has_a_unit_that_fits_its_name_and_says_where_it_is_from(name):
    field, source = FIGURES[name].__metadata__
    unit = field.json_schema_extra["unit"]
    assert unit == next((u for end, u in SUFFIXES.items() if name.endswith(end)), "1")
    assert source.startswith(("assumed: ", "common practice, no published source", "value from"))
