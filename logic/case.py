"""One case: an installation and the readings taken on it, as exchanged in files."""

from datetime import datetime
from enum import StrEnum
from typing import Annotated, Literal, Self

from pydantic import Field, ValidationError

from logic.errors import InputError
from logic.quantities import (
    Bit,
    Data,
    Fraction,
    Many,
    Minute,
    NullIsNotKnown,
    Volt,
    is_empty,
    is_none,
)
from logic.vehicle.installation import Installation
from logic.vehicle.points import Point, ReadingKey, State

# Of an entry of the fault catalogue (logic/diagnosis/faults.toml). Only the form is checked here:
# a record or an exchange file of a later version may name a fault that this version does not know.
FaultId = Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]*$", max_length=80)]

# Whose work puts a fault right: what a customer asks first.
Responsibility = Literal["charger", "wiring", "vehicle", "battery", "use", "none"]


class OfReading(Data):
    """What is said of one reading: which one it is."""

    point: Point
    state: State

    @property
    def key(self) -> ReadingKey:
        """The reading's point and state."""
        return ReadingKey(self.point, self.state)


class Reading(OfReading):
    """One value read at a point in a state; its unit is the point's."""

    value: float = Field(ge=-1000, le=1000)
    taken_at: datetime | None = None


class OutOfReach(OfReading):
    """A reading that the technician says cannot be taken on this vehicle."""


class Case(NullIsNotKnown):
    """An installation, today's readings, and those of its commissioning if there are any.

    What is ``out_of_reach`` is never asked for.

    ``Case.model_validate_json`` raises pydantic's ``ValidationError``; :meth:`from_json`
    raises :class:`~logic.errors.InputError` with a text for people.
    """

    installation: Installation
    readings: tuple[Reading, ...] = ()
    baseline: tuple[Reading, ...] = ()
    out_of_reach: tuple[OutOfReach, ...] = ()

    @classmethod
    def from_json(cls, text: str | bytes) -> Self:
        """Read a case from JSON text.

        Raises
        ------
        InputError
            Names the field in the file and what to put there.
        """
        try:
            return cls.model_validate_json(text)
        except ValidationError as error:
            raise InputError(first_complaint(error), "case") from error


def first_complaint(error: ValidationError) -> str:
    """Name the field and the trouble of a validation error's first complaint."""
    first = error.errors(include_url=False)[0]
    # Names come from the file: no longer than a line, and no sign that moves a cursor.
    field = ".".join(str(part) for part in first["loc"])[:80] or "the whole"
    field = "".join(letter if letter.isprintable() else "?" for letter in field)
    more = error.error_count() - 1
    also = f" ({more} more after it)" if more else ""
    return f"{field}: {first['msg'][:200]}. Correct it and try again{also}."


class ReadingEvidence(OfReading):
    """What one reading says for an answer, or against it, beside the likeliest other answer.

    Values are in the point's unit. ``expected`` is what this answer makes the reading,
    ``expected_under_rival`` what the other one does; null where no circuit could show it.
    """

    kind: Literal["supports", "against"]
    value: float = Field(description="as read")
    expected: float | None
    rival: tuple[FaultId, ...] = Field(min_length=1, max_length=2)
    expected_under_rival: float | None
    at_commissioning: float | None = Field(None, description="as read on that day")
    text: str = Field("", description="the same in words, as shown")


class Exclusion(Data):
    """What the readings leave no room for, the likeliest first."""

    kind: Literal["excludes"] = "excludes"
    faults: Many[FaultId] = Field(min_length=1)
    text: str = Field("", description="the same in words, as shown")


Evidence = Annotated[ReadingEvidence | Exclusion, Field(discriminator="kind")]


class HiddenBehind(OfReading):
    """A reading to take once a finding is put right: faults that it would show do not show now."""

    faults: Many[FaultId] = Field(min_length=1)
    text: str = Field("", description="the same in words, as shown")


class AccountedReading(OfReading):
    """A reading out of range that is right all the same under what the readings show besides."""

    value: float
    text: str = Field("", description="what accounts for it and how to make sure, as shown")


class Finding(Data):
    """One or two faults together, how probable, and why.

    In records of release 0.1.0 evidence is text alone; it stays so, for it is signed.
    """

    faults: tuple[FaultId, ...] = Field(min_length=1, max_length=2)
    probability: Fraction
    evidence: Many[Evidence | str] = ()
    hides: Many[HiddenBehind] = Field(
        (), exclude_if=is_empty, description="what to read once it is put right"
    )
    accounts_for: Many[AccountedReading] = Field(
        (),
        exclude_if=is_empty,
        description="of all as it should be: what is out of range and yet no fault",
    )

    @property
    def evidence_in_words(self) -> tuple[str, ...]:
        """All evidence, as it is shown."""
        return tuple(one if isinstance(one, str) else one.text for one in self.evidence)


class NextReading(OfReading):
    """A reading not yet taken and what it is worth."""

    information_bits: Bit
    cost_minutes: Minute
    tells_apart: Many[FaultId] = Field(
        (), description="one alone: what is to be done about that one hangs on the reading"
    )


Slip = Literal[
    "point_right",
    "point_left",
    "sign",
    "thousandths_as_whole",
    "whole_as_thousandths",
    "wrong_post",
]


class SuspectReading(OfReading):
    """A reading that cannot be right; ``reason`` says the rest of it in words.

    What is not known is left out of the JSON: so is all but the reason in release 0.1.0, whose
    records are signed.
    """

    reason: str
    value: float | None = Field(None, exclude_if=is_none, description="as read")
    expected: float | None = Field(None, exclude_if=is_none, description="by the other readings")
    slip: Slip | None = Field(None, exclude_if=is_none, description="the slip that explains it")
    loop_gap_v: Volt | None = Field(
        None, exclude_if=is_none, description="by which the loop's voltages miss adding up"
    )


class UnexplainedReading(OfReading):
    """A reading that the likeliest answer does not explain.

    Values are in the point's unit; ``expected`` is what that answer makes the reading.
    """

    value: float = Field(description="as read")
    expected: float
    text: str = Field("", description="the same in words, as shown")


class Judgement(StrEnum):
    """The decision rule's answer for one reading."""

    IN_RANGE = "in_range"
    MARGINAL = "marginal"
    OUT_OF_RANGE = "out_of_range"
    NO_LIMIT = "no_limit"


class Mark(StrEnum):
    """What a reading is marked with: its verdict, or that it proves nothing yet."""

    IN_RANGE = "in_range"
    MARGINAL = "marginal"
    OUT_OF_RANGE = "out_of_range"
    NO_LIMIT = "no_limit"
    PROVES_NOTHING = "proves_nothing"


class Verdict(OfReading):
    """A reading held against what this very vehicle should show.

    ``uncertainty`` is expanded (k = 2), in the reading's own unit: that of the reading and of
    those readings that its limits were worked out from.
    """

    value: float
    expected_low: float | None
    expected_high: float | None
    uncertainty: float
    verdict: Judgement
    reason: str
    proves_nothing: str = Field(
        "",
        exclude_if=is_empty,
        description="why a reading that is not out of range proves nothing yet, and what to do",
    )

    @property
    def mark(self) -> Mark:
        """What the reading is marked with: a verdict that proves nothing is no tick."""
        return Mark.PROVES_NOTHING if self.proves_nothing else Mark(self.verdict.value)


class Diagnosis(Data):
    """What the readings say so far."""

    findings: Many[Finding]
    marginals: dict[FaultId, Fraction]
    unexplained: Fraction | None = Field(
        None,
        exclude_if=is_none,
        description="probability that none of the findings is true; null in release 0.1.0",
    )
    unexplained_readings: Many[UnexplainedReading] = Field(
        (), exclude_if=is_empty, description="what no answer explains, if something is unexplained"
    )
    to_check: Many[str] = Field(
        (), exclude_if=is_empty, description="then, the likeliest first: a sentence each, as shown"
    )
    next_readings: Many[NextReading]
    worth_reaching: Many[NextReading] = Field(
        (),
        exclude_if=is_empty,
        description="what is out of reach and would tell, where nothing within reach does",
    )
    suspect_readings: Many[SuspectReading]
    verdicts: Many[Verdict]
    kind: Literal["voltwalk-diagnosis"] = "voltwalk-diagnosis"

    @property
    def nothing_listed_leads(self) -> bool:
        """Whether "none of the findings" is likelier than the likeliest of them."""
        return self.place_of_unexplained == 0

    @property
    def place_of_unexplained(self) -> int | None:
        """Before which of the findings "none of these" stands, by its probability.

        None where that is not known, or hardly possible.
        """
        if self.unexplained is None:
            return None
        likelier = sum(one.probability >= self.unexplained for one in self.findings)
        return likelier if likelier == 0 or self.unexplained >= _WORTH_NAMING else None


# "None of these" stands among the findings from this probability up; where it leads, at any.
_WORTH_NAMING = 0.1
