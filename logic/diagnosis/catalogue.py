"""The fault catalogue: what can be wrong, how it changes the circuit, and what to do about it.

``faults.toml`` holds one entry a fault, with everything there is to say about it; this module is
its form and its reader.  A new fault of a known kind is one entry there and no Python: nothing
else in the program names a fault.
"""

from collections.abc import Iterable, Mapping
from functools import cache, cached_property, lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import Literal, Self

from pydantic import Field, field_validator, model_validator

from logic import data_files
from logic.case import FaultId, OfReading, Responsibility
from logic.diagnosis.unknowns import NAMES
from logic.errors import InputError
from logic.quantities import Data, Fraction
from logic.vehicle.installation import Chemistry, Control, Installation, RepairedPart
from logic.vehicle.points import Point
from logic.words.names import in_words, uncapitalised

FILE = Path(__file__).with_name("faults.toml")


class PriorChange(Data):
    """What a fault makes of one unknown's prior.

    Exactly one of ``to`` (a value), ``shift`` (added to the sound mean) and ``times`` (factor
    on the sound mean) is given.  Volts are for a 12 V system and double at 24 V; ``to`` may
    be counted from another voltage named in ``above``.  ``spread`` is in the same unit, or
    the standard deviation of the logarithm where the unknown is fitted as one.
    """

    unknown: str
    to: float | None = None
    shift: float | None = None
    times: float | None = None
    above: Literal["", "full_rest", "signal_threshold", "rated_output"] = ""
    spread: float = Field(gt=0)

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
    """One way in which a fault can show; a fault has one or several, weighed by ``weight``.

    What is left out is as in a sound installation.
    """

    weight: float = Field(1.0, gt=0)
    change: tuple[PriorChange, ...] = ()
    unit: Literal["works", "dead"] = "works"
    supply: Literal["alternator", "battery"] = "alternator"
    signal: Literal["as_fitted", "missing"] = "as_fitted"
    runs_at_rest: bool | None = None
    opens: tuple[Literal["vehicle_feed", "house_feed", "charger_negative"], ...] = ()
    shows_absorption: bool = True
    blocks: Literal["nothing", "charging", "all"] = "nothing"
    battery: Literal["accepts", "nearly_full"] = "accepts"
    limit: Literal["profile", "float"] = "profile"
    panel: Literal["connected", "open", "blocked"] = "connected"
    # Readings whose value the model cannot tell under this fault, with their spread.
    loose: dict[Point, float] = Field(default_factory=dict)
    fault_lit: float = Field(0.08, gt=0, lt=1)


class Needs(Data):
    """What must be fitted for the fault to be possible; empty means anything will do."""

    chemistry: tuple[Chemistry, ...] = ()
    control: tuple[Control, ...] = ()
    solar: bool = False


class CheckReading(OfReading):
    """A reading that shows the repair worked."""


class Fault(Data):
    """One entry of the catalogue: a fault, or an answer that nothing is at fault."""

    id: FaultId = Field(description="part of every signed record: never renamed or used again")
    title: str = Field(min_length=3, max_length=60)
    short: str = Field(min_length=3, max_length=22, description="within a sentence, small")
    nothing_is_wrong: bool = Field(False, description="all is as it should be")
    equipment_is_sound: bool = Field(
        False, description="only its use or its charge: may be so on the day of commissioning"
    )
    responsibility: Responsibility
    common: float = Field(1.0, gt=0, description="frequency beside the other real faults")
    share_of_jobs: Fraction | None = Field(None, gt=0, description="of all jobs, instead")
    source: str = Field(min_length=3, description="where the frequency comes from")
    needs: Needs = Needs()
    pairs: bool = Field(True, description="false: never looked for beside a second fault")
    parts: tuple[RepairedPart, ...] = Field(
        description="that the fault or its repair touches: their steps are taken again"
    )
    remedy: tuple[str, ...]
    cautions: tuple[str, ...] = ()
    customer: str
    repair_check: tuple[CheckReading, ...] = ()
    way: tuple[Way, ...] = (Way(),)

    @cached_property
    def is_sound(self) -> bool:
        """Whether the installation is in order under this answer."""
        return self.nothing_is_wrong or self.equipment_is_sound


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


def fault(fault_id: FaultId) -> Fault:
    """Return one fault's entry.

    Raises
    ------
    InputError
        No such fault; names the nearest one.
    """
    try:
        return faults()[fault_id]
    except KeyError:
        hint = data_files.did_you_mean(fault_id, faults())
        raise InputError(f"the catalogue has no fault '{fault_id}'; {hint}", "fault") from None


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


def check_readings(fault_ids: Iterable[FaultId]) -> tuple[CheckReading, ...]:
    """Return the readings to repeat once the faults have been put right, each once."""
    return tuple(dict.fromkeys(one for entry in known(fault_ids) for one in entry.repair_check))


# How likely before anything is read


@lru_cache(maxsize=16)
def possible_faults(installation: Installation) -> tuple[Fault, ...]:
    """Return the entries that this installation can have."""
    return tuple(entry for entry in catalogue().fault if _is_possible(entry, installation))


def _is_possible(entry: Fault, installation: Installation) -> bool:
    needs = entry.needs
    chemistry = not needs.chemistry or installation.house_battery.chemistry in needs.chemistry
    control = not needs.control or installation.alternator.control in needs.control
    return chemistry and control and (installation.solar is not None or not needs.solar)


@lru_cache(maxsize=16)
def prior_probabilities(installation: Installation) -> Mapping[FaultId, Fraction]:
    """Return each possible fault's probability before any reading; they sum to one.

    What is given as a share of all jobs keeps it; the other faults part the rest among them
    by how common they are.
    """
    entries = possible_faults(installation)
    known_share = sum(entry.share_of_jobs for entry in entries if entry.share_of_jobs is not None)
    common = {
        entry.id: entry.common * _control_share(entry, installation)
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


def _control_share(entry: Fault, installation: Installation) -> float:
    # Of alternators nobody has looked at, half are taken to be of the kind the fault needs.
    unknown = installation.alternator.control is Control.UNKNOWN
    return 0.5 if entry.needs.control and unknown else 1.0
