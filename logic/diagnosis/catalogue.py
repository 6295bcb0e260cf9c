"""The fault catalogue: what can be wrong, how it changes the circuit, and what to do about it.

``faults.toml`` holds one entry a fault, with everything there is to say about it; this module is
its form and its reader.  A new fault of a known kind is one entry there and no Python: nothing
else in the program names a fault.
"""

from collections.abc import Iterable, Mapping
from functools import cache, lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import Literal, Self

from pydantic import Field, field_validator, model_validator

from logic import data_files
from logic.case import FaultId, OfReading, Responsibility
from logic.diagnosis.unknowns import NAMES
from logic.quantities import Data, Fraction
from logic.vehicle.installation import (
    Chemistry,
    Control,
    Extra,
    Installation,
    RepairedPart,
    StatedBy,
)
from logic.vehicle.points import Point, ReadingKey
from logic.words.names import in_words, uncapitalised

FILE = Path(__file__).with_name("faults.toml")


class PriorChange(Data):
    """What a fault makes of one unknown's prior.

    Exactly one of ``to``, ``shift`` and ``times`` is given. Volts are for a 12 V system and
    double at 24 V.
    """

    unknown: str = Field(description="its name in logic/diagnosis/unknowns.py")
    to: float | None = Field(None, description="the value, or the value above what 'above' names")
    shift: float | None = Field(None, description="added to the sound mean")
    times: float | None = Field(None, description="factor on the sound mean")
    above: Literal[
        "",
        "full_rest",
        "float",
        "signal_threshold",
        "rated_output",
        "rated_input",
        "one_battery_less",
    ] = Field(
        "", description="what the value is counted from, if not from nothing or the sound mean"
    )
    of_one_cell: bool = Field(
        False, description="true: volts of one cell, which are the same at 24 V"
    )
    spread: float = Field(
        gt=0,
        description="standard deviation, in the same unit; of the logarithm where the unknown is "
        "fitted as one",
    )

    @field_validator("unknown")
    @classmethod
    def _is_in_the_model(cls, name: str) -> str:
        if name not in NAMES:
            raise ValueError(f"no unknown called {name!r}; the model has {', '.join(NAMES)}")
        return name

    @model_validator(mode="after")
    def _says_one_thing(self) -> Self:
        given = [value for value in (self.to, self.shift, self.times) if value is not None]
        if len(given) != 1:
            raise ValueError(f"{self.unknown}: give exactly one of to, shift and times")
        return self


class Way(Data):
    """One way in which a fault can show; a fault has one or several.

    What is left out is as in a sound installation.
    """

    weight: float = Field(1.0, gt=0, description="how often, beside the fault's other ways")
    change: tuple[PriorChange, ...] = Field((), description="unknowns that it changes")
    unit: Literal["works", "dead"] = "works"
    supply: Literal["alternator", "battery", "overcharging"] = Field(
        "alternator",
        description="battery: the alternator does not charge; overcharging: in the fastest state "
        "whose volts it changes, it holds higher than any sound regulator",
    )
    signal: Literal["as_fitted", "missing"] = Field(
        "as_fitted", description="missing: the trigger terminal is dead with the engine running"
    )
    runs_at_rest: bool | None = Field(None, description="true: the unit runs with the key off")
    opens: tuple[
        Literal["vehicle_feed", "vehicle_return", "house_feed", "charger_negative"], ...
    ] = ()
    exchanged: bool = Field(
        False, description="true: input and output leads sit on each other's terminals"
    )
    clamped_at_the_unit: bool = Field(
        False,
        description="true: with exchanged leads the clamp counts what goes into the unit's input "
        "terminal and out of its output; false: what goes towards the house battery",
    )
    clamp_misses_consumer: bool = Field(
        False, description="true: what else the vehicle feed carries leaves it before the clamp"
    )
    shows_absorption: bool = Field(
        True, description="what a unit with nothing on its output shows: absorption, or nothing"
    )
    blocks: Literal["nothing", "charging", "all"] = Field(
        "nothing", description="what the house battery's own protection blocks"
    )
    battery: Literal["accepts", "nearly_full", "fed"] = Field(
        "accepts", description="fed: something else charges the house battery, at rest as well"
    )
    limit: Literal["profile", "float"] = Field("profile", description="what the unit regulates to")
    panel: Literal["connected", "held", "open", "blocked"] = Field(
        "connected", description="held: something holds the solar terminal at volts of its own"
    )
    second_unit: Literal["works", "dead", "unfed"] = Field(
        "works", description="dead: a second unit gives nothing; unfed: nothing arrives at it"
    )
    loose: dict[Point, float] = Field(
        default_factory=dict,
        description="readings whose value the model cannot tell then, with their standard spread",
    )
    fault_lit: float = Field(0.08, gt=0, lt=1, description="chance that the fault lamp is lit")


class Needs(Data):
    """What must be fitted for the fault to be possible; empty means anything will do."""

    chemistry: tuple[Chemistry, ...] = Field((), description="of the house battery, one of these")
    control: tuple[Control, ...] = Field((), description="of the alternator, one of these")
    fitted: tuple[Extra, ...] = Field((), description="all of these must be fitted")


class FaultCaution(Data):
    """A warning beside a remedy, for house batteries of some chemistries only."""

    text: str = Field(min_length=3)
    chemistry: tuple[Chemistry, ...] = Field(
        (), description="of the house battery, one of these; left out: for every one"
    )


class CheckReading(OfReading):
    """A reading that shows whether the repair worked."""


class DecidingReading(OfReading):
    """A reading that says what to do about a fault, whatever it tells of others."""


class Fault(Data):
    """One entry of the catalogue: a fault, or an answer that nothing is at fault."""

    id: FaultId = Field(description="part of every signed record: never renamed or used again")
    title: str = Field(min_length=3, max_length=60)
    short: str = Field(min_length=3, max_length=22, description="within a sentence, small")
    nothing_is_wrong: bool = Field(False, description="all is as it should be")
    equipment_is_sound: bool = Field(
        False, description="nothing to repair: a vehicle may be so on the day of commissioning"
    )
    responsibility: Responsibility
    common: float = Field(1.0, gt=0, description="frequency beside the other real faults")
    common_on: dict[Control, float] = Field(
        default_factory=dict, description="factor on that, by how the vehicle's supply is held"
    )
    share_of_jobs: Fraction | None = Field(None, gt=0, description="of all jobs, instead")
    source: str = Field(min_length=3, description="where the frequency comes from")
    doubts: str = Field(
        "", description="the entered figure that it contradicts: the surer that, the rarer this"
    )
    needs: Needs = Needs()
    pairs: bool = Field(True, description="false: never looked for beside a second fault")
    parts: tuple[RepairedPart, ...] = Field(
        description="that the fault or its repair touches: their steps are taken again"
    )
    remedy: tuple[str, ...] = Field(description="what to do, a sentence or two each")
    cautions: tuple[FaultCaution | str, ...] = Field(
        (), description="that apply to the remedy; a table for some chemistries only"
    )
    customer: str = Field(description="what to tell the customer")
    decides_repair: tuple[DecidingReading, ...] = Field(
        (), description="asked for while the fault is likely: what is to be done hangs on them"
    )
    repair_check: tuple[CheckReading, ...] = Field((), description="to repeat after the repair")
    way: tuple[Way, ...] = Field((Way(),), min_length=1)

    def cautions_for(self, chemistry: Chemistry) -> tuple[str, ...]:
        """Return the cautions that fit a house battery."""
        said = (FaultCaution(text=one) if isinstance(one, str) else one for one in self.cautions)
        return tuple(one.text for one in said if not one.chemistry or chemistry in one.chemistry)

    @model_validator(mode="after")
    def _is_sound_where_nothing_is_wrong(self) -> Self:
        if self.nothing_is_wrong and not self.equipment_is_sound:
            raise ValueError("nothing_is_wrong = true needs equipment_is_sound = true beside it")
        return self


class Catalogue(Data):
    """The file ``faults.toml``."""

    fault: tuple[Fault, ...]

    @model_validator(mode="after")
    def _makes_sense_as_a_whole(self) -> Self:
        ids = [fault.id for fault in self.fault]
        if twice := sorted({one for one in ids if ids.count(one) > 1}):
            raise ValueError(f"each fault must be there exactly once; look at {', '.join(twice)}")
        if not any(fault.nothing_is_wrong for fault in self.fault):
            raise ValueError("one entry must say nothing_is_wrong = true")
        shares = sum(fault.share_of_jobs for fault in self.fault if fault.share_of_jobs is not None)
        if shares >= 1:
            raise ValueError("the shares of jobs leave nothing for the other faults")
        return self


def read(path: Path) -> Catalogue:
    """Read a catalogue.

    Raises
    ------
    DataFileError
        Not TOML, or an entry does not fit the form; names the entry and what to do.
    """
    return data_files.read(path, Catalogue)


@lru_cache(maxsize=1)
def catalogue() -> Catalogue:
    """Return the catalogue that ships with the program."""
    return read(FILE)


@lru_cache(maxsize=1)
def faults() -> Mapping[FaultId, Fault]:
    """Return every entry by its id, in the catalogue's order."""
    return MappingProxyType({entry.id: entry for entry in catalogue().fault})


def known(fault_ids: Iterable[FaultId]) -> tuple[Fault, ...]:
    """Return the entries of those faults that this version's catalogue has."""
    return tuple(faults()[one] for one in fault_ids if one in faults())


@cache
def title(fault_id: FaultId) -> str:
    """Return a fault's title; an id of a later version is written out in words."""
    entry = faults().get(fault_id)
    return entry.title if entry else in_words(fault_id)


@cache
def title_in_a_sentence(fault_id: FaultId) -> str:
    """Return a fault's title as it stands within a sentence."""
    return uncapitalised(title(fault_id))


@cache
def titles(fault_ids: tuple[FaultId, ...]) -> str:
    """Name an answer: one fault, or two together."""
    first, *others = fault_ids
    return " and ".join([title(first), *map(title_in_a_sentence, others)])


def parts_touched(fault_ids: Iterable[FaultId]) -> frozenset[RepairedPart]:
    """Return the parts that these faults, or their repair, touch.

    Of a fault of a later version that is not known, so all of them count as touched.
    """
    entries = [faults().get(one) for one in fault_ids]
    return frozenset(part for entry in entries for part in (entry.parts if entry else RepairedPart))


def check_readings(fault_ids: Iterable[FaultId]) -> tuple[ReadingKey, ...]:
    """Return the readings to repeat once the faults have been put right, each once.

    Drops come last, for they prove nothing without their currents.
    """
    keys = (one.key for entry in known(fault_ids) for one in entry.repair_check)
    return tuple(sorted(dict.fromkeys(keys), key=lambda key: key.point.is_drop))


# How likely before anything is read


@lru_cache(maxsize=16)
def possible_faults(installation: Installation) -> tuple[Fault, ...]:
    """Return the entries that this installation can have."""
    return tuple(entry for entry in catalogue().fault if _is_possible(entry, installation))


def _is_possible(entry: Fault, installation: Installation) -> bool:
    needs = entry.needs
    chemistry = not needs.chemistry or installation.house_battery.chemistry in needs.chemistry
    control = not needs.control or installation.alternator.control in needs.control
    return chemistry and control and all(installation.has(extra) for extra in needs.fitted)


@lru_cache(maxsize=16)
def prior_probabilities(installation: Installation) -> Mapping[FaultId, Fraction]:
    """Return each possible fault's probability before any reading; they sum to one.

    What is given as a share of all jobs keeps it; the other faults part the rest among them
    by how common they are.

    Returns
    -------
    1
    """
    entries = possible_faults(installation)
    known_share = sum(entry.share_of_jobs for entry in entries if entry.share_of_jobs is not None)
    common = {
        entry.id: entry.common * _control_share(entry, installation) * _doubt(entry, installation)
        for entry in entries
        if entry.share_of_jobs is None
    }
    whole = sum(common.values())
    return {
        entry.id: (1 - known_share) * common[entry.id] / whole
        if entry.share_of_jobs is None
        else entry.share_of_jobs
        for entry in entries
    }


# Assumed: how much more or less often an entered figure is wrong than one nobody says more of.
_DOUBTS = {StatedBy.PLATE: 0.25, StatedBy.PRESET: 1.5, StatedBy.GUESS: 3.0}


def _doubt(entry: Fault, installation: Installation) -> float:
    stated = installation.stated(entry.doubts) if entry.doubts else None
    return _DOUBTS.get(stated, 1.0) if stated is not None else 1.0


def _control_share(entry: Fault, installation: Installation) -> float:
    # Of alternators nobody has looked at, half are taken to be of the kind the fault needs.
    control = installation.alternator.control
    by_kind = entry.common_on.get(control, 1.0)
    return by_kind * (0.5 if entry.needs.control and control is Control.UNKNOWN else 1.0)
