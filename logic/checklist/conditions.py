"""When a step applies: a closed set of conditions, each one table with a ``kind``.

A condition is yes, no or not known (``None``). A step is shown unless its condition is a
plain no: where the alternator's control is unknown, both kinds of alternator's steps are
shown. Three rules make up the rest:

- nothing described in the installation under ``fitted`` means that it is not fitted;
- a step that is not answered, or was skipped, answers no condition: that is a no;
- ``all``, ``any`` and ``not`` carry "not known" on (Kleene's three-valued logic).
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from logic.case import Judgement, Verdict
from logic.checklist.answers import Answer, ChoiceAnswer, ReadingAnswer, YesNoAnswer
from logic.checklist.depth import Depth
from logic.circuit import tables
from logic.quantities import Ampere, Data
from logic.vehicle.assumed import NEAR_PROFILE_V
from logic.vehicle.installation import Chemistry, Control, Extra, Installation, Location

DataId = Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]*$", max_length=80)]


@dataclass(frozen=True)
class Facts:
    """What is known of a job: the installation, the answers so far, what was left out and why.

    ``depth`` is how much the job asks for unasked. ``judge`` returns the verdict on the reading
    that answers a step, None where none does; without it no reading counts as out of range.
    """

    installation: Installation | None = None
    answers: Mapping[str, Answer] = field(default_factory=dict)
    skipped: Mapping[str, str] = field(default_factory=dict)
    depth: Depth = Depth.FULL
    judge: Callable[[str], Verdict | None] | None = field(default=None, compare=False)


class AlternatorControl(Data):
    """The alternator's voltage is set in one of these ways; unknown control is not known."""

    kind: Literal["alternator_control"]
    one_of: tuple[Literal[Control.FIXED, Control.VARIABLE, Control.CONVERTER], ...] = Field(
        min_length=1
    )

    def holds(self, facts: Facts) -> bool | None:
        """Compare with the alternator described."""
        control = facts.installation.alternator.control if facts.installation else Control.UNKNOWN
        return None if control is Control.UNKNOWN else control in self.one_of


class HouseBatteryChemistry(Data):
    """The house battery is one of these."""

    kind: Literal["house_battery_chemistry"]
    one_of: tuple[Chemistry, ...] = Field(min_length=1)

    def holds(self, facts: Facts) -> bool | None:
        """Compare with the house battery described."""
        if facts.installation is None:
            return None
        return facts.installation.house_battery.chemistry in self.one_of


class StartBatteryChemistry(Data):
    """The start battery is one of these; a start battery not described is not known."""

    kind: Literal["start_battery_chemistry"]
    one_of: tuple[Chemistry, ...] = Field(min_length=1)

    def holds(self, facts: Facts) -> bool | None:
        """Compare with the start battery described."""
        battery = facts.installation.start_battery if facts.installation else None
        return None if battery is None else battery.chemistry in self.one_of


class MountedIn(Data):
    """The charger sits in one of these locations; one not described is not known."""

    kind: Literal["location"]
    one_of: tuple[Location, ...] = Field(min_length=1)

    def holds(self, facts: Facts) -> bool | None:
        """Compare with the location described."""
        location = facts.installation.location if facts.installation else None
        return None if location is None else location in self.one_of


class NominalVoltage(Data):
    """A 12 V or a 24 V vehicle."""

    kind: Literal["nominal_voltage"]
    volts: Literal[12, 24]

    def holds(self, facts: Facts) -> bool | None:
        """Compare with the vehicle described."""
        return facts.installation.nominal_voltage_v == self.volts if facts.installation else None


class FittedExtra(Data):
    """Something beyond charger and batteries is fitted; not described means not fitted."""

    kind: Literal["fitted"]
    what: Extra

    def holds(self, facts: Facts) -> bool | None:
        """Look the extra up in the installation."""
        return facts.installation.has(self.what) if facts.installation else None


class AnswerIs(Data):
    """An earlier step was answered so: with ``yes`` true or false, or with a ``choice``."""

    kind: Literal["answer_is"]
    step: DataId
    yes: bool | None = None
    choice: DataId | None = None

    @model_validator(mode="after")
    def _one_of_the_two(self) -> Self:
        if (self.yes is None) == (self.choice is None):
            raise ValueError("give either yes = true/false or choice = a choice's id")
        return self

    @property
    def asks(self) -> tuple[str, ...]:
        """The steps whose answers decide."""
        return (self.step,)

    def holds(self, facts: Facts) -> bool | None:
        """Compare with the answer given; without one it is a no."""
        match facts.answers.get(self.step):
            case YesNoAnswer(yes=yes):
                return yes is self.yes
            case ChoiceAnswer(choice=choice):
                return choice == self.choice
        return False


class _ReadingLimit(Data):
    step: DataId
    limit: float = Field(description="in the unit of that step's point")
    per_12_volt: bool = Field(False, description="the limit is doubled on a 24 V vehicle")
    on_house_side: bool = Field(
        False, description="doubled by the house side's voltage instead of the vehicle's"
    )

    @property
    def asks(self) -> tuple[str, ...]:
        """The steps whose answers decide."""
        return (self.step,)

    def _value_and_limit(self, facts: Facts) -> tuple[float, float] | None:
        answer = facts.answers.get(self.step)
        if not isinstance(answer, ReadingAnswer):
            return None
        fitted = facts.installation if self.per_12_volt else None
        if fitted is None:
            return answer.value, self.limit
        scale = fitted.house_scale if self.on_house_side else fitted.scale
        return answer.value, self.limit * scale


class ReadingBelow(_ReadingLimit):
    """An earlier reading is under a limit."""

    kind: Literal["reading_below"]

    def holds(self, facts: Facts) -> bool | None:
        """Compare with the reading taken; without one it is a no."""
        both = self._value_and_limit(facts)
        return both is not None and both[0] < both[1]


class ReadingAbove(_ReadingLimit):
    """An earlier reading is over a limit."""

    kind: Literal["reading_above"]

    def holds(self, facts: Facts) -> bool | None:
        """Compare with the reading taken; without one it is a no."""
        both = self._value_and_limit(facts)
        return both is not None and both[0] > both[1]


class ReadingOut(Data):
    """An earlier reading came out of range, by the limits of this very vehicle."""

    kind: Literal["reading_out"]
    step: DataId

    @property
    def asks(self) -> tuple[str, ...]:
        """The steps whose answers decide."""
        return (self.step,)

    def holds(self, facts: Facts) -> bool | None:
        """Ask for the verdict on the reading taken; without one it is a no."""
        if facts.judge is None or self.step not in facts.answers:
            return False
        verdict = facts.judge(self.step)
        return verdict is not None and verdict.verdict is Judgement.OUT_OF_RANGE


# Assumed: 12.5 V in, 14 V out, nine tenths efficient: what a unit held at its input limit gives, as
# a share of that limit where both sides have one voltage.
_OF_INPUT_LIMIT = 0.8


def _most_output(fitted: Installation) -> Ampere:
    """Return what a unit should give in bulk: its rating, or what a set input limit leaves of it.

    Returns
    -------
    A
    """
    limit = fitted.charger.input_current_limit_a
    rated = fitted.charger.rated_output_current_a
    share = _OF_INPUT_LIMIT * fitted.scale / fitted.house_scale
    return rated if limit is None else min(rated, share * limit)


class GivesTooLittle(Data):
    """The unit gives less than it should, and its output is not at the absorption voltage.

    Less than it should is under what a sound unit gives in bulk (bulk.least_share in
    logic/circuit/charger.toml). At the absorption voltage the current falls
    as the battery fills, and little proves nothing against the unit; at the float voltage it may
    be a full battery or a limited unit, so that is no excuse yet.
    """

    kind: Literal["gives_too_little"]
    step: DataId = Field(description="the step that reads the output current")
    volts: DataId | None = Field(None, description="the step that reads the output voltage")

    @property
    def asks(self) -> tuple[str, ...]:
        """The steps whose answers decide."""
        return (self.step, self.volts) if self.volts else (self.step,)

    def holds(self, facts: Facts) -> bool | None:
        """Compare with the charger described; without a current read it is a no."""
        current, unit = facts.answers.get(self.step), facts.installation
        if not isinstance(current, ReadingAnswer):
            return False
        if unit is None:
            return None
        charger = unit.charger
        if current.value >= tables.number("charger", "bulk.least_share") * _most_output(unit):
            return False
        volts = facts.answers.get(self.volts or "")
        absorption = charger.absorption_voltage_v or unit.house_battery.absorption_voltage_v
        if not isinstance(volts, ReadingAnswer) or absorption is None:
            return True
        return volts.value < absorption - NEAR_PROFILE_V * unit.house_scale


class AllOf(Data):
    """Every one of these holds."""

    kind: Literal["all"]
    of: tuple["Condition", ...] = Field(min_length=1)

    def holds(self, facts: Facts) -> bool | None:
        """No if one is a no, else not known if one is not known, else yes."""
        found = {condition.holds(facts) for condition in self.of}
        return False if False in found else None if None in found else True


class AnyOf(Data):
    """At least one of these holds."""

    kind: Literal["any"]
    of: tuple["Condition", ...] = Field(min_length=1)

    def holds(self, facts: Facts) -> bool | None:
        """Yes if one is a yes, else not known if one is not known, else no."""
        found = {condition.holds(facts) for condition in self.of}
        return True if True in found else None if None in found else False


class NotSo(Data):
    """This does not hold."""

    kind: Literal["not"]
    of: "Condition"

    def holds(self, facts: Facts) -> bool | None:
        """Turn yes into no and no into yes; not known stays so."""
        found = self.of.holds(facts)
        return None if found is None else not found


Condition = Annotated[
    AlternatorControl
    | HouseBatteryChemistry
    | StartBatteryChemistry
    | MountedIn
    | NominalVoltage
    | FittedExtra
    | AnswerIs
    | ReadingBelow
    | ReadingAbove
    | ReadingOut
    | GivesTooLittle
    | AllOf
    | AnyOf
    | NotSo,
    Field(discriminator="kind"),
]

AllOf.model_rebuild()
AnyOf.model_rebuild()
NotSo.model_rebuild()


def applies(condition: Condition | None, facts: Facts) -> bool:
    """Tell whether to show what carries this condition: yes, unless it is a plain no."""
    return condition is None or condition.holds(facts) is not False


OfAStep = AnswerIs | ReadingBelow | ReadingAbove | ReadingOut | GivesTooLittle


def asked_of(condition: Condition | None) -> tuple[OfAStep, ...]:
    """List the conditions inside this one that look at an earlier step's answer."""
    match condition:
        case AnswerIs() | ReadingBelow() | ReadingAbove() | ReadingOut() | GivesTooLittle():
            return (condition,)
        case AllOf(of=parts) | AnyOf(of=parts):
            return tuple(one for part in parts for one in asked_of(part))
        case NotSo(of=inner):
            return asked_of(inner)
    return ()
