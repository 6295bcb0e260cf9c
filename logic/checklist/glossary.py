"""The trade's words that the app uses, each with what it means here: one data file, searchable."""

import unicodedata
from collections.abc import Sequence
from pathlib import Path

from pydantic import Field, model_validator

from logic.checklist.step import Line, Title
from logic.data_files import read
from logic.quantities import Data

FILE = "glossary.toml"


class Term(Data):
    """A word, other words for the same, and what it means."""

    word: Title = Field(description="as the app's texts have it")
    also: tuple[Title, ...] = Field((), description="other words by which it is looked for")
    says: Line = Field(description="what it means, and what it matters for here")
    source: str = Field(min_length=1, max_length=160, description="where the meaning is from")


class Glossary(Data):
    """The file ``glossary.toml``."""

    terms: tuple[Term, ...] = Field(min_length=1)

    @model_validator(mode="after")
    def _each_once(self) -> "Glossary":
        seen: set[str] = set()
        for name in (_plain(name) for term in self.terms for name in (term.word, *term.also)):
            if name in seen:
                raise ValueError(f"'{name}' stands there twice. Keep one of them.")
            seen.add(name)
        return self


def load(folder: Path) -> tuple[Term, ...]:
    """Read the glossary of the checklists' folder, in the order of the alphabet.

    Raises
    ------
    DataFileError
        Names the entry that is wrong and what to do.
    """
    terms = read(folder / FILE, Glossary).terms
    return tuple(sorted(terms, key=lambda term: _plain(term.word)))


def find(terms: Sequence[Term], fragment: str) -> tuple[Term, ...]:
    """Return the terms that fit what is typed: by their names first, then by their meaning.

    Every word that is typed must be found in a term, in any order, small or capital, with accents
    or without.
    """
    wanted = _plain(fragment).split()
    if not wanted:
        return tuple(terms)
    by_name = [term for term in terms if _has(wanted, (term.word, *term.also))]
    by_meaning = [term for term in terms if _has(wanted, (term.word, *term.also, term.says))]
    return tuple(dict.fromkeys((*by_name, *by_meaning)))


def _has(wanted: Sequence[str], texts: Sequence[str]) -> bool:
    text = _plain(" ".join(texts))
    return all(one in text for one in wanted)


def _plain(text: str) -> str:
    letters = unicodedata.normalize("NFKD", text.casefold())
    return "".join(sign for sign in letters if not unicodedata.combining(sign))
