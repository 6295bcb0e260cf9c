"""Every way the installation could be, as rows of arrays.

One fault needs several rows: each of its ways, the trigger wire fitted or not, and the unit
running or not at idle and at fast idle.  Whether it runs is no jump inside one fit: each row
says yes or no, and a soft gate on the supply voltage says how far that is believable.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import product

import numpy as np
from numpy.typing import NDArray

from logic.case import FaultId
from logic.diagnosis.catalogue import Change, Fault, Way, catalogue, fault
from logic.diagnosis.unknowns import INDEX, NAMES, is_volts, sound_priors, to_fit
from logic.electrical.batteries import rest_voltage
from logic.electrical.estimate import Estimate
from logic.electrical.healthy import Healthy, healthy
from logic.installation import Chemistry, Control, Installation
from logic.points import Point, State

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
STATES = (State.REST, State.IDLE, State.FAST_IDLE, State.SOLAR)
POINTS = tuple(Point)
POINT_INDEX = {point: place for place, point in enumerate(POINTS)}

# Two independent faults on one vehicle: how much rarer than chance would have it. Assumed;
# makes about one job in fifteen a double.
PAIR_FACTOR = 0.25
# A running pattern that the supply makes this improbable beforehand is not considered.
_LEAST_PATTERN = 0.003
# State of charge at which a battery counts as nearly full (assumed).
_FULL = 0.92


@dataclass(frozen=True)
class Row:
    """One hypothesis before it becomes array rows."""

    faults: tuple[FaultId, ...]
    ways: tuple[Way, ...]
    ln_prior: float
    wired: bool
    on: tuple[bool, bool, bool, bool] = (False, False, False, False)
    gate: tuple[int, int] = (0, 0)
    sunny: bool = False


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


def possible_faults(installation: Installation) -> tuple[Fault, ...]:
    """Return the catalogue entries that this installation can have."""
    return tuple(entry for entry in catalogue().fault if _possible(entry, installation))


def _possible(entry: Fault, installation: Installation) -> bool:
    needs = entry.needs
    chemistry = not needs.chemistry or Chemistry(installation.house_battery.chemistry) in (
        needs.chemistry
    )
    control = not needs.control or installation.alternator.control in needs.control
    return chemistry and control and (installation.solar is not None or not needs.solar)


@lru_cache(maxsize=16)
def prior(installation: Installation) -> dict[FaultId, float]:
    """Return each possible fault's probability before any reading; they sum to one."""
    entries = possible_faults(installation)
    shares = {entry.id: entry.common * _control_share(entry, installation) for entry in entries}
    whole = sum(shares.values())
    return {fault_id: share / whole for fault_id, share in shares.items()}


def _control_share(entry: Fault, installation: Installation) -> float:
    # Of alternators nobody has looked at, half are taken to be of the kind the fault needs.
    unknown = installation.alternator.control is Control.UNKNOWN
    return 0.5 if entry.needs.control and unknown else 1.0


@lru_cache(maxsize=16)
def single_hypotheses(installation: Installation) -> Hypotheses:
    """Return the rows of every possible fault on its own."""
    prob = prior(installation)
    combined = [
        ((entry.id,), (way,), math.log(prob[entry.id] * _share(entry, way)))
        for entry in possible_faults(installation)
        for way in entry.way
    ]
    return assemble(installation, combined)


def _share(entry: Fault, way: Way) -> float:
    return way.weight / sum(other.weight for other in entry.way)


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
            share = _share(entries[one], way) * _share(entries[other], other_way)
            ln_prior = math.log(prob[one] * prob[other] * share * PAIR_FACTOR)
            combined[ids, id(ways[0]), id(ways[1])] = (ids, ways, ln_prior)
    return assemble(installation, combined.values()) if combined else None


@lru_cache(maxsize=16)
def changed_priors(installation: Installation) -> tuple[dict[str, Estimate], ...]:
    """Return what each way of each possible fault makes of the unknowns, in the fit's units."""
    sound = healthy(installation)
    base = sound_priors(installation, sound)
    return tuple(
        {
            change.unknown: to_fit(
                change.unknown, _changed(change, base[change.unknown], installation, sound)
            )
            for change in way.change
        }
        for entry in possible_faults(installation)
        for way in entry.way
    )


def pair_chance(installation: Installation, second: FaultId, way: Way) -> float:
    """Return how likely a second fault shows in a way beside a first one, before any reading."""
    entry = fault(second)
    if not entry.pairs:
        return 1e-12
    return prior(installation)[second] * _share(entry, way) * PAIR_FACTOR


def _ordered(
    one: tuple[FaultId, Way], other: tuple[FaultId, Way]
) -> tuple[tuple[FaultId, FaultId], tuple[Way, Way]]:
    first, second = sorted((one, other), key=lambda item: item[0].value)
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
        rows.extend(_rows(installation, sound, base, Row(faults, ways, ln_prior, True)))
    return _stack(installation, sound, base, rows)


_OFF = (False, False, False, False)


def _rows(
    installation: Installation, sound: Healthy, base: dict[str, Estimate], row: Row
) -> Iterator[Row]:
    for wired, share in _wiring(installation, sound, row):
        live = wired and all(way.signal == "as_fitted" for way in row.ways)
        ln_prior = row.ln_prior + math.log(share)
        for on, gate in _patterns(sound, base, row.ways, live):
            for sunny, chance in _sky(installation, row.ways):
                yield Row(row.faults, row.ways, ln_prior + math.log(chance), wired, on, gate, sunny)


def _sky(installation: Installation, ways: tuple[Way, ...]) -> tuple[tuple[bool, float], ...]:
    """Whether the panel has light while the engine runs: a workshop has a roof."""
    if installation.solar is None or _panel(ways) > 0:
        return ((False, 1.0),)
    return ((False, 0.5), (True, 0.5))


def _wiring(installation: Installation, sound: Healthy, row: Row) -> tuple[tuple[bool, float], ...]:
    """Whether the trigger terminal is wired: only a variable alternator makes its lack a fault."""
    if any(way.signal == "missing" for way in row.ways):
        return ((True, 1.0),)
    if installation.alternator.control is Control.VARIABLE:
        return ((True, 1.0),)
    wired = sound.ignition_wired
    return ((True, wired), (False, 1 - wired))


def _patterns(
    sound: Healthy, base: dict[str, Estimate], ways: tuple[Way, ...], live: bool
) -> Iterator[tuple[tuple[bool, bool, bool, bool], tuple[int, int]]]:
    at_rest = any(way.runs_at_rest for way in ways)
    opened = {name for way in ways for name in way.opens}
    if opened & {"vehicle_feed", "charger_negative"}:
        yield _OFF, (0, 0)
        return
    if any(way.unit == "dead" for way in ways):
        yield _OFF, (1, 0)
        return
    likely_on = _chance_on(sound, base, ways, live)
    yield (at_rest, True, True, at_rest), (1, 1)
    if 1 - likely_on > _LEAST_PATTERN:
        yield (at_rest, False, False, at_rest), (-1, -1)
        if not live:
            yield (at_rest, False, True, at_rest), (-1, 1)


def _chance_on(
    sound: Healthy, base: dict[str, Estimate], ways: tuple[Way, ...], live: bool
) -> float:
    supply = base["supply_idle_v"]
    if any(way.supply == "battery" for way in ways):
        rest, sag = base["supply_rest_v"], base["supply_sag_v"]
        supply = Estimate(rest.mean - sag.mean, math.hypot(rest.spread, sag.spread))
    threshold = sound.charger.ignition_start_v if live else sound.charger.start_v
    return 0.5 * math.erfc((threshold - supply.mean) / (supply.spread * math.sqrt(2)))


def _stack(
    installation: Installation, sound: Healthy, base: dict[str, Estimate], rows: list[Row]
) -> Hypotheses:
    mean, spread, changed = _priors(installation, sound, base, rows)
    live = np.array([r.wired and all(w.signal == "as_fitted" for w in r.ways) for r in rows])

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
        changed=changed,
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
        panel=np.array([_panel(row.ways) for row in rows], dtype=np.float64),
        sunny=np.array([row.sunny for row in rows]),
        loose=np.array([_loose(row.ways) for row in rows]),
        fault_lit=np.array([max(way.fault_lit for way in row.ways) for row in rows]),
    )


_PANEL = {"connected": 0, "open": 1, "blocked": 2}


def _panel(ways: tuple[Way, ...]) -> int:
    return max(_PANEL[way.panel] for way in ways)


def _loose(ways: tuple[Way, ...]) -> list[float]:
    return [max(way.loose.get(point, 0.0) for way in ways) for point in POINTS]


def _priors(
    installation: Installation, sound: Healthy, base: dict[str, Estimate], rows: list[Row]
) -> tuple[Array, Array, Flags]:
    fitted = [to_fit(name, base.get(name, Estimate(0.0, 1.0))) for name in NAMES]
    mean = np.tile([estimate.mean for estimate in fitted], (len(rows), 1))
    spread = np.tile([estimate.spread for estimate in fitted], (len(rows), 1))
    changed = np.zeros(mean.shape, dtype=np.bool_)
    for place, row in enumerate(rows):
        for change in (change for way in row.ways for change in way.change):
            estimate = _changed(change, base[change.unknown], installation, sound)
            column = INDEX[change.unknown]
            mean[place, column], spread[place, column] = to_fit(change.unknown, estimate)
            changed[place, column] = True
    return mean, spread, changed


def _changed(
    change: Change, sound_value: Estimate, installation: Installation, sound: Healthy
) -> Estimate:
    scale = installation.scale if is_volts(change.unknown) else 1.0
    anchor = {
        "": sound_value.mean,
        "full_rest": rest_voltage(
            installation.house_battery.chemistry, _FULL, installation.scale, sound.ambient_c.mean
        ),
        "signal_threshold": sound.charger.ignition_signal_min_v,
        "rated_output": sound.charger.rated_output_a,
    }[change.above]
    above = anchor if change.above else 0.0
    if change.to is not None:
        value = above + change.to * scale * _ohms(change.unknown, installation)
    elif change.shift is not None:
        value = anchor + change.shift * scale
    else:
        value = anchor * (change.times or 0.0)
    spread = change.spread * (scale if change.above != "signal_threshold" else 1.0)
    return Estimate(value, spread)


def _ohms(unknown: str, installation: Installation) -> float:
    # A worn battery of twice the volts has twice the cells in series.
    return installation.scale if unknown == "house_battery_ohm" else 1.0
