"""How much a job asks for: the workshop's choice, and what each step is part of."""

from enum import StrEnum


class Depth(StrEnum):
    """How much of a checklist is asked for unasked, from the least to the most.

    A reading that comes out of range brings in the steps that narrow it down at every depth.
    """

    SHORT = "short"
    STANDARD = "standard"
    FULL = "full"

    @property
    def rank(self) -> int:
        """Its place in the order, from the least."""
        return list(Depth).index(self)

    @property
    def words(self) -> str:
        """Its name on a button and in the record."""
        return _WORDS[self]

    @property
    def says(self) -> str:
        """What it asks for, in one sentence."""
        return _SAYS[self]


_WORDS = {
    Depth.SHORT: "Short proof",
    Depth.STANDARD: "Standard",
    Depth.FULL: "Full sheet",
}
_SAYS = {
    Depth.SHORT: "Safety, fuses, terminations, and the readings that prove charging.",
    Depth.STANDARD: "Everything a new installation is signed for; more where a reading is out.",
    Depth.FULL: "Every step and every reading, fast idle among them.",
}
