"""Is a PDF this very print? Byte for byte, but for how its streams were packed.

Two devices whose zlib packs otherwise write the same print in other bytes: other packed streams,
so other lengths and places. Everything else must be the same bytes in the same order, to the end
of the file. So nothing is left to how a viewer, or any reader of PDF, takes a file: there is no
second version of an object, nothing hidden, nothing after the end that could show something else.
"""

import re
import zlib
from collections.abc import Iterator
from dataclasses import dataclass

_LENGTH = re.compile(rb"(?<=\n/Length )[1-9]\d{0,9}(?=\n)")
_STREAM = b">>\nstream\n"
_OFFSET = 20  # bytes of an entry of the table of places, ISO 32000-1, 7.5.4


def is_same_print(content: bytes, fresh: bytes) -> bool:
    """Return whether a PDF shows and carries what a fresh print of ours does, and no more."""
    if content == fresh:
        return True
    places = _places(fresh)
    walk = _Walk(content)
    walk.over(fresh[: places[0]])
    found = []
    for start, end in zip(places, [*places[1:], _table(fresh)], strict=True):
        found.append(walk.at)
        walk.over_object(fresh[start:end])
    table = walk.at
    for piece in _ending(fresh, found, table):
        walk.over(piece)
    return not walk.is_lost and walk.at == len(content)


@dataclass
class _Walk:
    """How far a PDF is as it should be; lost as soon as it is not."""

    content: bytes
    at: int = 0
    is_lost: bool = False

    def over(self, piece: bytes) -> None:
        """Walk over bytes that must be these."""
        if not self.is_lost and self.content.startswith(piece, self.at):
            self.at += len(piece)
        else:
            self.is_lost = True

    def over_object(self, fresh: bytes) -> None:
        """Walk over an object that must be this one, but for how its stream was packed."""
        head, marker, rest = fresh.partition(_STREAM)
        length = _LENGTH.search(head)
        if not marker or not length or b"/Filter /FlateDecode\n" not in head:
            self.over(fresh)
            return
        packed, after = rest[: int(length[0])], rest[int(length[0]) :]
        self.over(head[: length.start()])
        count = self._number()
        self.over(head[length.end() :] + marker)
        self._packed(count, _unpacked(packed))
        self.over(after)

    def _number(self) -> int:
        found = re.compile(rb"[1-9]\d{0,9}").match(self.content, self.at)
        if self.is_lost or not found:
            self.is_lost = True
            return 0
        self.at = found.end()
        return int(found[0])

    def _packed(self, count: int, due: bytes) -> None:
        """Walk over so many bytes that must unpack to these, with nothing after their end."""
        packed = self.content[self.at : self.at + count]
        unpacking = zlib.decompressobj()
        try:
            found = unpacking.decompress(packed, len(due) + 1)
        except zlib.error:
            self.is_lost = True
            return
        is_whole = unpacking.eof and not unpacking.unused_data and len(packed) == count
        self.is_lost = self.is_lost or found != due or not is_whole
        self.at += count


def _unpacked(packed: bytes) -> bytes:
    return zlib.decompress(packed)


def _table(fresh: bytes) -> int:
    """Return where a print's table of places begins."""
    return int(fresh[fresh.rindex(b"\nstartxref\n") :].split()[1])


def _places(fresh: bytes) -> list[int]:
    """Return where the objects of a print begin, in order."""
    lines = fresh[_table(fresh) :].split(b"\n")
    return sorted(int(line[:10]) for line in lines if line.endswith(b" n "))


def _ending(fresh: bytes, found: list[int], table: int) -> Iterator[bytes]:
    """Yield a print's table of places and trailer, written for objects that lie elsewhere."""
    moved = dict(zip(_places(fresh), found, strict=True))
    end = fresh[_table(fresh) :]
    entries = end.index(b"trailer\n")
    lines = end[:entries].split(b"\n")
    yield b"\n".join(
        b"%010d" % moved[int(line[:10])] + line[10:] if line.endswith(b" n ") else line
        for line in lines
    )
    trailer, marker, rest = end[entries:].partition(b"startxref\n")
    yield trailer + marker + str(table).encode()
    yield rest[len(str(_table(fresh))) :]
