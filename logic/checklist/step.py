"""The form of a checklist: stages of steps, what a step asks, cautions, symptoms.

The field descriptions are what a checklist's author reads in an editor, by the generated
JSON Schema. Ids are part of every signed record: never renamed, never used again.
"""

import hashlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cached_property
from typing import Annotated, Any, Literal, Self

from pydantic import Field, model_validator

from logic.case import OfReading
from logic.checklist.conditions import Condition, DataId, Facts
from logic.checklist.depth import Depth
from logic.quantities import Data
from logic.vehicle.installation import Installation, RepairedPart
from logic.vehicle.points import Point, State

Title = Annotated[str, Field(min_length=1, max_length=46)]
Line = Annotated[str, Field(min_length=1, max_length=320)]


class AskReading(Data):
    """A value read off the meter; where the probes go follows from the point."""

    kind: Literal["reading"]
    point: Point
    state: State = Field(description="what the vehicle is doing while the reading is taken")
    question: str = Field(
        "", max_length=120, description="for what is lit or not: asked as yes or no"
    )


class AskYesNo(Data):
    """Seen to be so, or not so."""

    kind: Literal["yes_no"]
    question: Annotated[str, Field(min_length=1, max_length=120)]
    acceptable: Literal["yes", "no"] = "yes"


class Compared(StrEnum):
    """What of the set-up a step asks to hold the vehicle against."""

    CHARGER = "charger"
    PROFILE = "profile"
    ALTERNATOR = "alternator"
    HOUSE_BATTERY = "house_battery"
    PLACE = "place"
    CABLES = "cables"
    FUSES = "fuses"


class Choice(Data):
    """One answer to choose; ``acceptable = false`` asks for repair or an explanation."""

    id: DataId
    text: Annotated[str, Field(min_length=1, max_length=60)]
    acceptable: bool = True


class AskChoice(Data):
    """One of a few answers."""

    kind: Literal["choice"]
    question: Annotated[str, Field(min_length=1, max_length=120)]
    choices: tuple[Choice, ...] = Field(min_length=2, max_length=6)

    @model_validator(mode="after")
    def _each_once(self) -> Self:
        ids = [choice.id for choice in self.choices]
        if twice := {one for one in ids if ids.count(one) > 1}:
            raise ValueError(f"the choice '{twice.pop()}' is there twice; each needs its own id")
        return self


class AskText(Data):
    """A few words."""

    kind: Literal["text"]
    prompt: Annotated[str, Field(min_length=1, max_length=120)]


class AskPhoto(Data):
    """A photo."""

    kind: Literal["photo"]
    prompt: Annotated[str, Field(min_length=1, max_length=120)]


Ask = Annotated[AskReading | AskYesNo | AskChoice | AskText | AskPhoto, Field(discriminator="kind")]


class Wording(Data):
    """Other words for a step or a stage, where the installation asks for them."""

    when: Condition = Field(description="of the installation alone, never of an answer")
    title: Title | None = None
    why: Line | None = Field(None, description="a step's")
    how: Line | None = Field(None, description="a step's")
    intro: Line | None = Field(None, description="a stage's")
    question: Annotated[str, Field(min_length=1, max_length=120)] | None = Field(
        None, description="of a step that is answered with yes, no or a choice"
    )
    wait_for: str | None = Field(None, max_length=80)
    teaches: str | None = Field(None, max_length=240)


class Step(Data):
    """One thing to look at, to measure or to do; one screen on the phone."""

    id: DataId = Field(description="never renamed, never used again")
    title: Title = Field(description="short and imperative")
    why: Line = Field(description="one sentence: the physics, or what follows if it is left")
    how: Line = Field(description="one to three short sentences: where hands and probes go")
    ask: Ask = Field(description="what the step is answered with")
    when: Condition | None = Field(None, description="left out: the step always applies")
    wait_s: int = Field(0, ge=0, le=1800, description="countdown before answering, in seconds")
    wait_for: str = Field("", max_length=80, description="what the wait is for")
    wait_from: DataId | None = Field(
        None, description="the step whose answer begins the wait; left out: being shown does"
    )
    cautions: tuple[DataId, ...] = Field((), description="ids out of cautions.toml")
    required: bool = Field(True, description="false: may stay open at signing")
    teaches: str = Field("", max_length=240, description="a hint to pass on to the customer")
    proves: tuple[RepairedPart, ...] = Field(
        (), description="taken again after a repair to these parts"
    )
    compare: tuple[Compared, ...] = Field(
        (), description="figures of the set-up shown beside the question"
    )
    design_checks: tuple[DataId, ...] = Field(
        (), description="design checks shown with them; an id's end is enough for all four runs"
    )
    depth: Depth = Field(Depth.SHORT, description="the least depth that asks for it by itself")
    brought_in_by: Condition | None = Field(
        None, description="at a lesser depth it is asked for only where this is so"
    )
    look: DataId | None = Field(
        None, description="the look of its stage that it belongs to: one screen for all of them"
    )
    second_person: str = Field(
        "", max_length=120, description="what a second person does meanwhile, where one is needed"
    )
    worded: tuple[Wording, ...] = Field(
        (),
        description="other words where the installation asks for them; each text of the first that "
        "fits and has it",
    )

    def in_words_for(self, fitted: Installation) -> Self:
        """Return the step in the words for an installation: the same step, other words."""
        changed = _other_words(self.worded, fitted, _OF_STEP)
        if not changed:
            return self
        if (question := changed.pop("question", None)) is not None:
            changed["ask"] = self.ask.model_copy(update={"question": question})
        return self.model_copy(update=changed)

    @property
    def point(self) -> Point | None:
        """The point a reading step reads, else None."""
        return self.ask.point if isinstance(self.ask, AskReading) else None

    @property
    def state(self) -> State | None:
        """The state a reading step is taken in, else None."""
        return self.ask.state if isinstance(self.ask, AskReading) else None


_OF_STEP = {"title", "why", "how", "question", "wait_for", "teaches"}
_OF_STAGE = {"title", "intro"}


def _other_words(worded: Iterable[Wording], fitted: Installation, of: set[str]) -> dict[str, Any]:
    """Return each text of the first wording that plainly applies and has it.

    So a converter's title and a second unit's posts go together without a row for both. Where it
    is not known whether a wording applies, it does not.
    """
    facts, words = Facts(installation=fitted), dict[str, Any]()
    for one in worded:
        if one.when.holds(facts) is True:
            words = one.model_dump(include=of, exclude_none=True) | words
    return words


class Look(Data):
    """What is looked at together, on one screen: yes-or-no steps that follow each other."""

    id: DataId
    title: Title
    how: Line = Field(description="where to look, and with what in hand")


class Stage(Data):
    """A part of the walk, one file: what the vehicle is doing stays the same within it."""

    id: DataId = Field(description="the file's name without .toml")
    title: Title
    intro: Line = Field(description="what this stage is for, in one or two sentences")
    cautions: tuple[DataId, ...] = Field(
        (), description="shown when the stage is entered; without any it has no screen of its own"
    )
    looks: tuple[Look, ...] = Field((), description="screens that gather several steps")
    steps: tuple[Step, ...] = Field(min_length=1)
    worded: tuple[Wording, ...] = Field(
        (),
        description="other words where the installation asks for them; each text of the first that "
        "fits and has it",
    )

    def in_words_for(self, fitted: Installation) -> Self:
        """Return the stage and its steps in the words for an installation."""
        changed = _other_words(self.worded, fitted, _OF_STAGE)
        steps = tuple(step.in_words_for(fitted) for step in self.steps)
        return self.model_copy(update={**changed, "steps": steps})

    @property
    def has_screen(self) -> bool:
        """Whether its cautions are shown before its first step."""
        return bool(self.cautions)


class ChecklistHeading(Data):
    """A checklist's own file, ``checklist.toml``: what it is called and its stages in order."""

    id: DataId = Field(description="the folder's name")
    version: int = Field(ge=1, description="one more for each release that changes a word")
    title: Title
    stages: tuple[DataId, ...] = Field(min_length=1, description="names of the stage files")
    retired: tuple[DataId, ...] = Field((), description="step ids once used, never to return")
    budget_minutes: float | None = Field(
        None, gt=0, description="the most that a plain job may take, by logic.checklist.budget"
    )


@dataclass(frozen=True)
class Checklist:
    """A whole checklist, put together from its heading and its stage files."""

    id: str
    version: int
    title: str
    stages: tuple[Stage, ...]
    budget_minutes: float | None = None
    as_written: "Checklist | None" = None
    """What this one is the wording of, None where it is as written."""

    def in_words_for(self, fitted: Installation) -> "Checklist":
        """Return the checklist in the words for an installation; its digest stays as written."""
        facts = Facts(installation=fitted)
        which = tuple(condition.holds(facts) is True for condition in self._wordings)
        if not any(which):
            return self
        if which not in self._in_other_words:
            stages = tuple(stage.in_words_for(fitted) for stage in self.stages)
            self._in_other_words[which] = replace(self, stages=stages, as_written=self)
        return self._in_other_words[which]

    @cached_property
    def _wordings(self) -> tuple[Condition, ...]:
        """Every condition of another wording, each once."""
        worded = [one.when for stage in self.stages for one in stage.worded]
        worded += [one.when for step in self.steps for one in step.worded]
        return tuple(dict.fromkeys(worded))

    @cached_property
    def _in_other_words(self) -> dict[tuple[bool, ...], "Checklist"]:
        """What was worded before, by which of the conditions hold."""
        return {}

    @property
    def steps(self) -> Iterator[Step]:
        """Every step of every stage, in order."""
        return (step for stage in self.stages for step in stage.steps)

    @cached_property
    def by_id(self) -> dict[str, Step]:
        """Every step by its id."""
        return {step.id: step for step in self.steps}

    @cached_property
    def stages_by_id(self) -> dict[str, Stage]:
        """Every stage by its id."""
        return {stage.id: stage for stage in self.stages}

    @cached_property
    def stage_of(self) -> dict[str, Stage]:
        """The stage that each step id belongs to."""
        return {step.id: stage for stage in self.stages for step in stage.steps}

    @cached_property
    def sha256(self) -> str:
        """Digest of the content as written (RFC 8785 canonical JSON), without its budget."""
        import rfc8785

        if self.as_written is not None:
            return self.as_written.sha256
        stages = [stage.model_dump(mode="json", exclude_unset=True) for stage in self.stages]
        content: dict[str, Any] = {
            "id": self.id,
            "version": self.version,
            "title": self.title,
            "stages": stages,
        }
        return hashlib.sha256(rfc8785.dumps(content)).hexdigest()


class Caution(Data):
    """A warning shown where it applies; it never replaces local rules and licensed practice."""

    id: DataId
    title: Title
    text: Annotated[str, Field(min_length=1, max_length=400)]
    applies: Line = Field(description="where it applies, in words")
    when: Condition | None = Field(None, description="left out: for every installation")
    source: Line = Field(
        description="a published source, or 'common practice, no published source'"
    )

    @property
    def in_full(self) -> str:
        """The title as a sentence, and the text."""
        return f"{self.title}. {self.text}"


class Cautions(Data):
    """The file ``cautions.toml``."""

    cautions: tuple[Caution, ...] = Field(min_length=1)


class FirstReading(OfReading):
    """A reading worth taking early."""

    why: str = Field(
        "", max_length=48, description="what it answers about this complaint, as a question"
    )


class Symptom(Data):
    """What the customer noticed, in the technician's words; decides nothing."""

    id: DataId
    words: Title
    ask_customer: Line = Field(description="one question that sharpens the complaint")
    first_readings: tuple[FirstReading, ...] = Field(min_length=1, max_length=5)


class Symptoms(Data):
    """The file ``symptoms.toml``."""

    symptoms: tuple[Symptom, ...] = Field(min_length=1)
