"""Which letters can be written here: those that the type has, each standing by itself.

The screen and the printed record set one letter after the other. What has to be joined (Arabic,
Devanagari ...), stacked or put together of several signs (emoji) would stand there broken or as
boxes; there is no library for it on the phone that Kivy and fpdf2 both take.
"""

import unicodedata
from functools import cache
from pathlib import Path

_EASY = frozenset(map(chr, range(32, 127))) | {"\n"}


def sorted_out(text: str) -> tuple[str, str]:
    """Return what of a text can be written, and a sentence on what cannot, or "".

    Letters are put together where there is one letter for them: e and its accent become é.
    """
    if all(letter in _EASY for letter in text):
        return text, ""
    text = unicodedata.normalize("NFC", text.replace("\t", " "))
    left_out = [letter for letter in text if not _can_be_written(letter)]
    kept = "".join(letter for letter in text if _can_be_written(letter))
    if not left_out:
        return kept, ""
    names = list(dict.fromkeys(_name(letter) for letter in left_out))
    more = " and more" if len(names) > 1 else ""
    return kept, (
        f"Left out: {names[0]}{more}. Neither the screen nor the printed record can write it. "
        "Latin, Greek and Cyrillic letters can be written."
    )


def _can_be_written(letter: str) -> bool:
    if letter in _EASY:
        return True
    return ord(letter) in _in_the_type() and unicodedata.category(letter) not in (
        "Mn",
        "Me",
        "Cf",
        "Co",
    )


def _name(letter: str) -> str:
    return unicodedata.name(letter, f"character {ord(letter):X}").capitalize()


@cache
def _in_the_type() -> frozenset[int]:
    """Return the letters that the screen's type has and the printed record's too."""
    # Not on the start path: opening the fonts takes a fifth of a second.
    from fontTools.ttLib import TTFont
    from kivy.core.text import Label

    from logic.records import paper

    printed = (Path(paper.__file__).parent / "fonts").glob("*.ttf")
    covered = []
    for file in (Label().options["font_name_r"], *printed):
        with TTFont(file, lazy=True) as type_face:
            covered.append(frozenset(type_face.getBestCmap()))
    return frozenset.intersection(*covered)
