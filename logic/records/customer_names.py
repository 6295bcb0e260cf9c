"""Where a text names the customer: what is surely them, and what only may be.

An erasure deletes what names the customer for sure (the whole name, a telephone number, a mail
address) and offers the rest: a surname may be a word of the trade, and a note that goes for a
word is lost. The same rule keeps the name out of what is sealed for ever.

Letters are compared without case and accents, and names whatever stands between their words.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

from logic.vehicle.identity import Customer

STAND_IN = "the customer"
"""What stands in a sealed text where it named the customer."""

# Words that are in many a name and say nobody's, and words of the trade.
_NOBODYS = """
mr mrs ms miss mx dr prof sir the and for von van der den del della dos das pty ltd inc llc gmbh
plc company group trust service services council office desk shop store farm school library clinic
vet veterinary workshop garage motors auto street road lane avenue drive place court phone mobile
mail home work front back
"""
_OF_THE_TRADE = """
battery batteries charger solar panel cable wire fuse earth ground negative positive engine idle key
read reading red black brown green white grey gray gold power volt volts watt amp current feed
return input output start house lead ring lug post bolt tray cabin rest fast slow hot cold clean dry
new old long short low high left right good sound fair
"""
_COMMON = frozenset((_NOBODYS + _OF_THE_TRADE).split())
_MAIL = re.compile(r"[^\s@,;<>()]+@[^\s@,;<>()]+")
_NUMBER = re.compile(r"\+?\d[\d\s().\-/]{4,}\d")
_LEAST_DIGITS = 6  # assumed: no reading and no size on a vehicle has as many
_NATIONAL = 9  # assumed: the digits of a number after its country's code, as most countries count
_LEAST_LETTERS = 3
_LEAST_ALONE = 6  # assumed: a name of one shorter word is too often a word as well
_BETWEEN = r"[\W_]{0,3}"  # "O'Hara", "OHara", "Hara, O.", "o_hara"


@dataclass(frozen=True)
class CustomerNames:
    """A vehicle's customers as texts to look for; ``whole`` and ``parts`` are patterns."""

    whole: tuple[str, ...] = ()
    parts: tuple[str, ...] = ()

    @classmethod
    def of(cls, customers: Iterable[Customer]) -> CustomerNames:
        """Return what to look for, given everybody that the vehicle's customer was known as."""
        whole: dict[str, None] = {}
        parts: dict[str, None] = {}
        for customer in customers:
            _add_name(customer.name, whole, parts)
            _add_contact(customer.contact, whole, parts)
        return cls(tuple(whole), tuple(one for one in parts if one not in whole))

    def __add__(self, other: CustomerNames) -> CustomerNames:
        """Return what either of them looks for."""
        whole = tuple(dict.fromkeys((*self.whole, *other.whole)))
        parts = tuple(dict.fromkeys((*self.parts, *other.parts)))
        return CustomerNames(whole, tuple(one for one in parts if one not in whole))

    def __bool__(self) -> bool:
        """Whether there is anything to look for."""
        return bool(self.whole or self.parts)

    def surely_in(self, text: str) -> bool:
        """Whether a text names the customer for sure."""
        return bool(self._whole and self._whole.search(_folded(text)))

    def maybe_in(self, text: str) -> bool:
        """Whether a text holds a part of the name, and so may name the customer."""
        return bool(self._parts and self._parts.search(_folded(text)))

    def left_out_of(self, text: str) -> str:
        """Return a text in which :data:`STAND_IN` stands for what surely names the customer."""
        if not self.surely_in(text):
            return text
        kept, end = "", 0
        given = unicodedata.normalize("NFC", text)
        for found in self._whole.finditer(_folded(text)) if self._whole else ():
            kept += given[end : found.start()] + STAND_IN
            end = found.end()
        return kept + given[end:]

    def with_parts(self) -> CustomerNames:
        """Return the same with the parts taken for sure as well."""
        return CustomerNames((*self.whole, *self.parts))

    def in_bytes(self, data: bytes) -> bool:
        """Whether bytes that are no text as a whole hold what surely names the customer."""
        return any(self._spans(data))

    def overwritten_in(self, data: bytes) -> bytes:
        """Return bytes of the same length, with blanks where the customer was surely named."""
        written = bytearray(data)
        for start, end in self._spans(data):
            written[start:end] = b" " * (end - start)
        return bytes(written)

    def _spans(self, data: bytes) -> Iterator[tuple[int, int]]:
        if not self.whole:
            return
        # No word's end is asked for: a database sets its texts side by side.
        pattern = re.compile("|".join(sorted(self.whole, key=len, reverse=True)))
        text = data.decode("utf-8", "surrogateescape")
        folded = text.lower() if text.isascii() else "".join(map(_folded_letter, text))
        at = done = 0
        for found in pattern.finditer(folded):
            at += _bytes(text[done : found.start()])
            length = _bytes(text[found.start() : found.end()])
            yield at, at + length
            at, done = at + length, found.end()

    @cached_property
    def _whole(self) -> re.Pattern[str] | None:
        return _pattern(self.whole)

    @cached_property
    def _parts(self) -> re.Pattern[str] | None:
        return _pattern(self.parts)


def _add_name(name: str, whole: dict[str, None], parts: dict[str, None]) -> None:
    words = _words(name)
    if not words:
        return
    alone = _says_somebody(words[0]) and len(words[0]) >= _LEAST_ALONE
    target = whole if len(words) > 1 or alone else parts
    if sum(map(len, words)) >= _LEAST_LETTERS:
        target[_in_a_row(words)] = None
        if len(words) > 1:
            target[_in_a_row([words[-1], *words[:-1]])] = None
    telling = [word for word in words if _says_somebody(word)]
    for two in zip(telling, [*telling[1:], telling[0]], strict=True) if telling[1:] else ():
        # A middle name, a partner or "and Sons" is often left out.
        whole |= dict.fromkeys((_in_a_row([*two]), _in_a_row([*reversed(two)])))
    parts |= dict.fromkeys(map(_in_a_row, ([word] for word in telling)))


def _add_contact(contact: str, whole: dict[str, None], parts: dict[str, None]) -> None:
    words = _words(contact)
    has_digit = any(map(str.isdigit, contact))
    if len(words) > 1 and (has_digit or len(words) > 2):
        whole[_in_a_row(words)] = None
    rest = contact
    for mail in _MAIL.findall(contact):
        whole[_in_a_row(_words(mail))] = None
        rest = rest.replace(mail, " ")
    for number in _NUMBER.findall(rest):
        digits = re.sub(r"\D", "", number)
        if len(digits) >= _LEAST_DIGITS:
            whole[_number(digits)] = None
            rest = rest.replace(number, " ")
    for piece in re.split(r"[,;/\n|]", rest):
        words = _words(piece)
        if len(words) > 1:
            target = whole if any(map(str.isdigit, piece)) else parts
            target[_in_a_row(words)] = None
        elif words and _says_somebody(words[0]) and not words[0].isdigit():
            parts[_in_a_row(words)] = None


def _says_somebody(word: str) -> bool:
    return len(word) >= _LEAST_LETTERS and word not in _COMMON and not word.isdigit()


def _words(text: str) -> list[str]:
    return re.findall(r"[^\W_]+", _folded(text))


def _in_a_row(words: list[str]) -> str:
    return _BETWEEN.join(map(re.escape, words))


def _number(digits: str) -> str:
    """Match a number by its last nine digits, whatever code or nought stands before them."""
    last = r"[\s().\-/]{0,2}".join(digits.lstrip("0")[-_NATIONAL:])
    return rf"(?:\+?\d{{1,4}}[\s().\-/]{{0,2}})?{last}"


def _pattern(alternatives: tuple[str, ...]) -> re.Pattern[str] | None:
    if not alternatives:
        return None
    # The longest first, so that a whole name goes as a whole.
    either = "|".join(sorted(alternatives, key=len, reverse=True))
    return re.compile(rf"(?<![^\W_])(?:{either})(?![^\W_])")


def _folded(text: str) -> str:
    """Return a text without case and accents, letter for letter as long as its NFC form."""
    composed = unicodedata.normalize("NFC", text)
    if composed.isascii():
        return composed.lower()
    return "".join(map(_folded_letter, composed))


def _bytes(text: str) -> int:
    return len(text.encode("utf-8", "surrogateescape"))


def _folded_letter(letter: str) -> str:
    return unicodedata.normalize("NFKD", letter)[0].lower()[:1] or letter
