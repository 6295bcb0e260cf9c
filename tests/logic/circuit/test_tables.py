import pytest

from logic.circuit import tables
from logic.errors import DataFileError

EVERY = sorted(path.stem for path in tables.FOLDER.glob("*.toml"))


def test_the_tables_are_there():
    assert len(EVERY) >= 6


@pytest.mark.parametrize("table", EVERY)
def test_every_figure_has_unit_and_source_and_says_where_it_is_assumed(table):
    for name, row in tables.read(tables.FOLDER / f"{table}.toml").items():
        assert row.unit, name
        unsupported = ("assumed", "common practice", "value from memory")
        is_free = row.source.startswith(unsupported)
        assert row.assumed == is_free, f"{name}: {row.source}"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("[a]\nvalue = 1\nunit = 'V'\n", "a: has no source"),
        ("[a]\nvalue = 1\nsource = 'x'\n", "a: has no unit"),
        ("[a.b]\nunit = 'V'\nsource = 'x'\n", "a.b: has neither value nor points"),
        ("[a]\nunit='V'\nsource='x'\npoints=[[2,1],[1,2]]\n", "must rise"),
        ("[a]\nunit='V'\nsource='x'\npoints=[[1,1],[1,2]]\n", "must rise"),
        ("a = 1\n", "'a' is not inside a row"),
        ("[a\n", "cannot be read"),
    ],
)
def test_a_broken_table_is_told_by_file_and_row(tmp_path, text, words):
    path = tmp_path / "broken.toml"
    path.write_text(text)
    with pytest.raises(DataFileError, match=words) as caught:
        tables.read(path)
    assert "broken.toml" in str(caught.value)


def test_a_missing_table_and_a_missing_row_are_told(tmp_path):
    with pytest.raises(DataFileError, match="cannot be read"):
        tables.read(tmp_path / "none.toml")
    with pytest.raises(DataFileError, match="no such row"):
        tables.number("conductors", "no.such")


def test_between_points_a_curve_is_straight_and_outside_level():
    points = ((0.0, 1.0), (10.0, 3.0), (20.0, 3.5))
    found = [tables.interpolated(points, x) for x in (-5, 0, 5, 10, 15, 20, 99)]
    assert found == pytest.approx([1.0, 1.0, 2.0, 3.0, 3.25, 3.5, 3.5])
