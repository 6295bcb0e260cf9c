"""The fault catalogue: what can be wrong, how it changes the circuit, and what to do about it.

``faults.toml`` holds one entry a fault; this module is its form and its reader.  A new fault
of a known kind is one entry there and no Python.
"""

import tomllib
from enum import StrEnum
from functools import lru_cache
from importlib.resources import files
from typing import Literal

from pydantic import Field, ValidationError, field_validator

from logic.case import FaultId, first_complaint
from logic.diagnosis.unknowns import NAMES
from logic.errors import DataFileError
from logic.quantities import Data, Fraction
from logic.vehicle.installation import Chemistry, Control
from logic.vehicle.points import Point, Run, State

FILE = "faults.toml"


class Responsibility(StrEnum):
    """Whose work puts it right: what a customer asks first."""

    CHARGER = "charger"
    WIRING = "wiring"
    VEHICLE = "vehicle"
    BATTERY = "battery"
    USE = "use"
    NONE = "none"


class Change(Data):
    """One unknown's prior under the fault.

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

    def model_post_init(self, _context: object) -> None:
        """Refuse a change that says nothing, or two things."""
        given = [value for value in (self.to, self.shift, self.times) if value is not None]
        if len(given) != 1:
            raise ValueError(f"{self.unknown}: give exactly one of to, shift and times")


class Way(Data):
    """One way in which a fault can show; a fault has one or several, weighed by ``weight``."""

    weight: float = Field(1.0, gt=0)
    change: tuple[Change, ...] = ()
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


class Proof(Data):
    """A reading that shows the repair worked."""

    point: Point
    state: State


class Fault(Data):
    """One entry of the catalogue."""

    id: FaultId
    title: str = Field(min_length=3, max_length=60)
    short: str = Field(min_length=3, max_length=22, description="within a sentence, small")
    responsibility: Responsibility
    common: float = Field(1.0, gt=0, description="frequency beside the other real faults")
    share_of_jobs: Fraction | None = Field(None, gt=0, description="of all jobs, instead")
    source: str = Field(min_length=3, description="where the frequency comes from")
    needs: Needs = Needs()
    pairs: bool = True
    remedy: tuple[str, ...]
    cautions: tuple[str, ...] = ()
    customer: str
    proof: tuple[Proof, ...] = ()
    shows_in: tuple[Run, ...] = ()
    way: tuple[Way, ...] = (Way(),)


class Catalogue(Data):
    """Every fault of the contract, once."""

    fault: tuple[Fault, ...]

    def model_post_init(self, _context: object) -> None:
        """Refuse a catalogue with a fault missing or twice."""
        ids = [fault.id for fault in self.fault]
        if sorted(ids) != sorted(FaultId):
            odd = sorted(set(FaultId) ^ set(ids)) or [i for i in ids if ids.count(i) > 1]
            raise ValueError(f"each fault must be there exactly once; look at {', '.join(odd)}")


def read(text: str, name: str = FILE) -> Catalogue:
    """Read a catalogue from TOML text.

    Raises
    ------
    DataFileError
        Not TOML, or an entry does not fit the form; names the place.
    """
    try:
        return Catalogue.model_validate(tomllib.loads(text))
    except tomllib.TOMLDecodeError as error:
        raise DataFileError(f"{error}. Correct the line and try again.", name) from error
    except ValidationError as error:
        raise DataFileError(first_complaint(error), name) from error


@lru_cache(maxsize=1)
def catalogue() -> Catalogue:
    """Return the catalogue that ships with the program."""
    return read(files(__package__).joinpath(FILE).read_text(encoding="utf-8"))


@lru_cache(maxsize=1)
def _by_id() -> dict[FaultId, Fault]:
    return {entry.id: entry for entry in catalogue().fault}


def fault(fault_id: FaultId | str) -> Fault:
    """Return one fault's entry."""
    return _by_id()[FaultId(fault_id)]


def proof_readings(fault_id: FaultId | str) -> tuple[Proof, ...]:
    """Return the readings to repeat once the fault has been put right."""
    return fault(fault_id).proof
