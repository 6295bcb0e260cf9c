"""The label's few kinds of bytes: whole numbers of any size, short texts, choices."""

from collections.abc import Sequence
from typing import TypeVar

T = TypeVar("T")

_LONGEST = 5  # bytes of one number: 35 bits, far more than any figure here


class Writer:
    """Bytes being written, one item after another."""

    def __init__(self) -> None:
        self._parts = bytearray()

    def __bytes__(self) -> bytes:
        return bytes(self._parts)

    def byte(self, value: int) -> None:
        """Write a number from 0 to 255 as one byte."""
        self._parts.append(value)

    def raw(self, content: bytes) -> None:
        """Write bytes as they are."""
        self._parts += content

    def unsigned(self, value: int) -> None:
        """Write a number from 0 up, seven bits a byte, lowest first, bit 7 = more follows."""
        while value > 127:
            self._parts.append(value & 127 | 128)
            value >>= 7
        self._parts.append(value)

    def signed(self, value: int) -> None:
        """Write any whole number: 0, −1, 1, −2 ... become 0, 1, 2, 3 ..."""
        self.unsigned(2 * value if value >= 0 else -2 * value - 1)

    def text(self, text: str) -> None:
        """Write a short text in UTF-8 after its length in bytes."""
        content = text.encode()
        self.unsigned(len(content))
        self.raw(content)


class Reader:
    """Bytes being read; whatever does not fit raises ``ValueError`` with the reason."""

    def __init__(self, content: bytes) -> None:
        self._content, self._at = content, 0

    def raw(self, length: int) -> bytes:
        """Read bytes as they are."""
        found = self._content[self._at : self._at + length]
        if len(found) < length:
            raise ValueError("it ends too early")
        self._at += length
        return found

    def byte(self) -> int:
        """Read one byte as a number."""
        return self.raw(1)[0]

    def unsigned(self) -> int:
        """Read a number from 0 up."""
        value = 0
        for place in range(_LONGEST):
            part = self.byte()
            value |= (part & 127) << 7 * place
            if part < 128:
                return value
        raise ValueError("a number in it is too long")

    def signed(self) -> int:
        """Read any whole number."""
        value = self.unsigned()
        return -(value + 1) // 2 if value % 2 else value // 2

    def text(self) -> str:
        """Read a short text."""
        try:
            return self.raw(self.unsigned()).decode()
        except UnicodeDecodeError as error:
            raise ValueError("a text in it is no text") from error

    def choice(self, choices: Sequence[T], index: int, what: str) -> T:
        """Return the choice of that index."""
        if index >= len(choices):
            raise ValueError(f"it names a {what} that this version does not know")
        return choices[index]

    def end(self) -> None:
        """Make sure that nothing is left over."""
        if self._at != len(self._content):
            raise ValueError("it is longer than it should be")
