"""The trade's words: each is used, found by what one types, and said once."""

import re

import pytest

from logic.checklist.glossary import FILE, Term, find, load
from logic.errors import DataFileError
from tests.paths import CHECKLISTS, CHECKOUT

TERMS = load(CHECKLISTS)


def words_of_the_app() -> str:
    checklists = [path for path in CHECKLISTS.rglob("*.toml") if path.name != FILE]
    paths = [
        *checklists,
        *(CHECKOUT / "logic").rglob("*.toml"),
        *(CHECKOUT / "logic").rglob("*.py"),
    ]
    paths += [*(CHECKOUT / "mobile").rglob("*.py"), *(CHECKOUT / "mobile").rglob("*.kv")]
    return " ".join(path.read_text(encoding="utf-8") for path in paths).casefold()


def test_every_word_is_one_that_the_app_uses() -> None:
    text = words_of_the_app()
    unused = [
        term.word
        for term in TERMS
        if not any(
            re.search(rf"\b{re.escape(name.casefold())}\b", text)
            for name in (term.word, *term.also)
        )
    ]
    assert unused == []


@pytest.mark.parametrize(
    ("typed", "first"),
    [
        ("voltage drop", "Drop"),
        ("lithium", "LiFePO4"),
        ("B&S", "AWG"),
        ("  FLOAT ", "Float"),
        ("auxiliary", "House battery"),
        ("arrow", "Clamp"),
        ("jelly", "Gel"),
        ("glass mats", "AGM"),
    ],
)
def test_a_word_is_found_by_any_of_its_names_or_by_its_meaning(typed: str, first: str) -> None:
    assert find(TERMS, typed)[0].word == first


def test_nothing_typed_is_all_of_them_in_the_order_of_the_alphabet() -> None:
    assert find(TERMS, " ") == TERMS
    names = [term.word.casefold() for term in TERMS]
    assert names == sorted(names)
    assert find(TERMS, "no such word") == ()


def test_a_name_comes_before_a_mention() -> None:
    terms = (
        Term(word="Alpha", says="Not beta.", source="made up for this test"),
        Term(word="Bêta", says="Itself.", source="made up for this test"),
    )
    assert [term.word for term in find(terms, "beta")] == ["Bêta", "Alpha"]


def test_a_word_that_stands_there_twice_is_refused_with_what_to_do(tmp_path) -> None:
    entry = '[[terms]]\nword = "{}"\nalso = ["run"]\nsays = "A run."\nsource = "made up"\n'
    (tmp_path / FILE).write_text(entry.format("Alpha") + entry.format("Beta"))
    with pytest.raises(DataFileError, match=r"'run' stands there twice"):
        load(tmp_path)
