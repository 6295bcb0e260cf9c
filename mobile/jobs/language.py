"""The app's texts in the technician's own language, by the standard library's gettext. No Kivy.

English is what is written in the sources, and what records, paper and files hold. A catalogue,
``mobile/assets/languages/<code>.po``, holds what is seen in its place:

* a fixed text is looked up whole as it is drawn (:func:`text`), so that neither a page's kv nor a
  data file knows of languages;
* a text that is put together is said by its pattern (:func:`said`), and one that counts by both its
  patterns (:func:`counted`): the order of words and the plural are the language's own.

What a catalogue lacks stays English. Figures are :mod:`logic.words.notation`'s matter.
"""

import ast
import gettext
import re
import struct
from enum import StrEnum
from functools import cache
from io import BytesIO
from pathlib import Path

FOLDER = Path(__file__).parents[1] / "assets" / "languages"

_LINE = re.compile(r'(?:(msgid_plural|msgid|msgstr)(?:\[(\d)\])? )?("(?:[^"\\]|\\.)*")$')
_MAGIC = 0x950412DE  # of a compiled catalogue: GNU gettext's manual, "MO Files"


class Language(StrEnum):
    """A language that the app can be read in."""

    ENGLISH = "en"
    GERMAN = "de"

    @property
    def words(self) -> str:
        """Its own name."""
        return _NAMES[self]


_NAMES = {Language.ENGLISH: "English", Language.GERMAN: "Deutsch"}
_in_force: gettext.NullTranslations = gettext.NullTranslations()


def speak(language: Language) -> None:
    """Have every text from now on in a language."""
    global _in_force  # noqa: PLW0603 - one language holds for the whole app, as one look does
    _in_force = catalogue(language)


def text(written: str) -> str:
    """Return a fixed text in the language in force."""
    return _in_force.gettext(written) if written else ""


def said(pattern: str, **parts: str | int) -> str:
    """Return a text put together by its pattern; its ``parts`` are said already."""
    return _in_force.gettext(pattern).format(**parts)


def counted(one: str, many: str, count: int) -> str:
    """Return the pattern that fits a number, with the number in it as ``{count}``."""
    return _in_force.ngettext(one, many, count).format(count=count)


@cache
def catalogue(language: Language) -> gettext.NullTranslations:
    """Return a language's catalogue; English has none."""
    if language is Language.ENGLISH:
        return gettext.NullTranslations()
    entries = read((FOLDER / f"{language}.po").read_text(encoding="utf-8"))
    return gettext.GNUTranslations(BytesIO(_compiled(entries)))


def read(po: str) -> dict[str, str]:
    """Return a catalogue's entries as gettext keeps them: plurals joined by a null character.

    Raises
    ------
    ValueError
        A line that is none of a catalogue's, with its number.
    """
    entries: dict[str, str] = {}
    fields: dict[str, str] = {}
    field = ""
    for number, raw in enumerate([*po.splitlines(), ""], 1):
        line = raw.strip()
        if line.startswith("#"):
            continue
        if not line:
            _take(fields, entries)
            fields, field = {}, ""
            continue
        found = _LINE.match(line)
        if found is None:
            raise ValueError(f"line {number} is none of a catalogue's: {line}")
        if found[1]:
            field = found[1] + (found[2] or "")
        fields[field] = fields.get(field, "") + ast.literal_eval(found[3])
    return entries


def _take(fields: dict[str, str], entries: dict[str, str]) -> None:
    if "msgid" not in fields:
        return
    plural = fields.get("msgid_plural")
    if plural is None:
        entries[fields["msgid"]] = fields["msgstr"]
        return
    forms = [fields[name] for name in sorted(fields) if re.fullmatch(r"msgstr\d", name)]
    entries[f"{fields['msgid']}\0{plural}"] = "\0".join(forms)


def _compiled(entries: dict[str, str]) -> bytes:
    """Return the catalogue as msgfmt compiles it, for the standard library to read."""
    pairs = sorted((one.encode(), other.encode()) for one, other in entries.items())
    start = 28 + 16 * len(pairs)
    tables: list[bytes] = []
    texts = b""
    for column in (0, 1):
        for pair in pairs:
            tables.append(struct.pack("<II", len(pair[column]), start + len(texts)))
            texts += pair[column] + b"\0"
    head = struct.pack("<7I", _MAGIC, 0, len(pairs), 28, 28 + 8 * len(pairs), 0, 0)
    return head + b"".join(tables) + texts
