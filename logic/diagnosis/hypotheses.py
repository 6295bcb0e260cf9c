"""Every way the installation could be, as rows of arrays.

One fault needs several rows: each of its ways, the trigger wire fitted or not, and the unit
running or not at idle and at fast idle.  Whether it runs is no jump inside one fit: each row
says yes or no, and a soft gate on the supply voltage says how far that is believable.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import product

import numpy as np
from numpy.typing import NDArray

from logic.case import FaultId
from logic.circuit.estimate import Estimate
from logic.circuit.healthy import Healthy, healthy
from logic.diagnosis.catalogue import Way
from logic.diagnosis.changes import changed
from logic.diagnosis.expansion import Row, expand, panel_state
from logic.diagnosis.prevalence import pair_chance, possible_faults, prior, way_share
from logic.diagnosis.unknowns import INDEX, NAMES, sound_priors, to_fit
from logic.vehicle.installation import Installation
from logic.vehicle.points import Point, State

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
STATES = (State.REST, State.IDLE, State.FAST_IDLE, State.SOLAR)
POINTS = tuple(Point)
POINT_INDEX = {point: place for place, point in enumerate(POINTS)}


@dataclass(frozen=True)
class Hypotheses:
    """All rows as arrays; first axis the row, second the state or the unknown."""

    faults: tuple[tuple[FaultId, ...], ...]
    ways: tuple[tuple[Way, ...], ...]
    ln_prior: Array
    mean: Array
    spread: Array
    changed: Flags
    on: Flags
    gate: Array
    threshold_v: Array
    stop_v: Array
    live: Flags
    dead: Flags
    shows: Flags
    blocks_charging: Flags
    blocks_all: Flags
    feed_open: Flags
    house_open: Flags
    negative_open: Flags
    nearly_full: Flags
    at_float: Flags
    on_battery: Flags
    panel: Array
    sunny: Flags
    loose: Array
    fault_lit: Array

    def __len__(self) -> int:
        """Return the number of rows."""
        return len(self.faults)

    def take(self, rows: NDArray[np.intp]) -> "Hypotheses":
        """Return some of the rows."""
        picked = {name: getattr(self, name)[rows] for name in _ARRAYS}
        return Hypotheses(
            faults=tuple(self.faults[row] for row in rows),
            ways=tuple(self.ways[row] for row in rows),
            **picked,
        )

    def joined(self, other: "Hypotheses") -> "Hypotheses":
        """Return the rows of both."""
        both = {
            name: np.concatenate([getattr(self, name), getattr(other, name)]) for name in _ARRAYS
        }
        return Hypotheses(faults=self.faults + other.faults, ways=self.ways + other.ways, **both)


_ARRAYS = tuple(name for name in Hypotheses.__dataclass_fields__ if name not in ("faults", "ways"))


@lru_cache(maxsize=16)
def single_hypotheses(installation: Installation) -> Hypotheses:
    """Return the rows of every possible fault on its own."""
    prob = prior(installation)
    combined = [
        ((entry.id,), (way,), math.log(prob[entry.id] * way_share(entry, way)))
        for entry in possible_faults(installation)
        for way in entry.way
    ]
    return assemble(installation, combined)


def pair_hypotheses(
    installation: Installation,
    first: Sequence[tuple[FaultId, Way]],
    second: Sequence[tuple[FaultId, Way]],
) -> Hypotheses | None:
    """Return rows that join each of the first faults, in its way, with each of the second."""
    prob = prior(installation)
    entries = {entry.id: entry for entry in possible_faults(installation) if entry.pairs}
    combined = {}
    for (one, way), (other, other_way) in product(first, second):
        if one == other or one not in entries or other not in entries:
            continue
        ids, ways = _ordered((one, way), (other, other_way))
        if _compatible(ways):
            chance = prob[one] * way_share(entries[one], way)
            ln_prior = math.log(chance * pair_chance(installation, other, other_way))
            combined[ids, id(ways[0]), id(ways[1])] = (ids, ways, ln_prior)
    return assemble(installation, combined.values()) if combined else None


def _ordered(
    one: tuple[FaultId, Way], other: tuple[FaultId, Way]
) -> tuple[tuple[FaultId, FaultId], tuple[Way, Way]]:
    first, second = sorted((one, other), key=lambda item: item[0])
    return (first[0], second[0]), (first[1], second[1])


def _compatible(ways: tuple[Way, Way]) -> bool:
    """Whether two ways can be true together: they must not want the same thing differently."""
    one, two = ({change.unknown for change in way.change} for way in ways)
    clash = one & two
    batteries = [way.battery == "nearly_full" or way.blocks != "nothing" for way in ways]
    panels = [way.panel != "connected" for way in ways]
    # A dead unit cannot be told from one that is cut off besides.
    cut_off = [way.opens != () or way.blocks != "nothing" for way in ways]
    dead = [way.unit == "dead" for way in ways]
    return not (clash or all(batteries) or all(panels) or (any(dead) and any(cut_off)))


def assemble(
    installation: Installation,
    combined: Iterable[tuple[tuple[FaultId, ...], tuple[Way, ...], float]],
) -> Hypotheses:
    """Expand combinations of ways over wiring and running, and stack them as arrays."""
    sound = healthy(installation)
    base = sound_priors(installation, sound)
    rows: list[Row] = []
    for faults, ways, ln_prior in combined:
        rows.extend(expand(installation, sound, base, Row(faults, ways, ln_prior, True)))
    return _stack(installation, sound, base, rows)


def _stack(
    installation: Installation, sound: Healthy, base: dict[str, Estimate], rows: list[Row]
) -> Hypotheses:
    mean, spread, moved = _priors(installation, sound, base, rows)
    live = np.array([row.live for row in rows])

    def some(test: str, value: object) -> Flags:
        return np.array([any(getattr(w, test) == value for w in r.ways) for r in rows])

    def opens(name: str) -> Flags:
        return np.array([any(name in w.opens for w in r.ways) for r in rows])

    return Hypotheses(
        faults=tuple(row.faults for row in rows),
        ways=tuple(row.ways for row in rows),
        ln_prior=np.array([row.ln_prior for row in rows]),
        mean=mean,
        spread=spread,
        changed=moved,
        on=np.array([row.on for row in rows]),
        gate=np.array([row.gate for row in rows], dtype=np.float64),
        threshold_v=np.where(live, sound.charger.ignition_start_v, sound.charger.start_v),
        stop_v=np.where(live, sound.charger.ignition_stop_v, sound.charger.stop_v),
        live=live,
        dead=some("unit", "dead"),
        shows=~some("shows_absorption", False),
        blocks_charging=some("blocks", "charging"),
        blocks_all=some("blocks", "all"),
        feed_open=opens("vehicle_feed"),
        house_open=opens("house_feed"),
        negative_open=opens("charger_negative"),
        nearly_full=some("battery", "nearly_full"),
        at_float=some("limit", "float"),
        on_battery=some("supply", "battery"),
        panel=np.array([panel_state(row.ways) for row in rows], dtype=np.float64),
        sunny=np.array([row.sunny for row in rows]),
        loose=np.array([_loose(row.ways) for row in rows]),
        fault_lit=np.array([max(way.fault_lit for way in row.ways) for row in rows]),
    )


_TIGHT = [0.0] * len(POINTS)


def _loose(ways: tuple[Way, ...]) -> list[float]:
    if not any(way.loose for way in ways):
        return _TIGHT
    return [max(way.loose.get(point, 0.0) for way in ways) for point in POINTS]


def _priors(
    installation: Installation, sound: Healthy, base: dict[str, Estimate], rows: list[Row]
) -> tuple[Array, Array, Flags]:
    fitted = [to_fit(name, base.get(name, Estimate(0.0, 1.0))) for name in NAMES]
    mean = np.tile([estimate.mean for estimate in fitted], (len(rows), 1))
    spread = np.tile([estimate.spread for estimate in fitted], (len(rows), 1))
    moved = np.zeros(mean.shape, dtype=np.bool_)
    for place, row in enumerate(rows):
        for change in (change for way in row.ways for change in way.change):
            estimate = changed(change, base[change.unknown], installation, sound)
            column = INDEX[change.unknown]
            mean[place, column], spread[place, column] = to_fit(change.unknown, estimate)
            moved[place, column] = True
    return mean, spread, moved
