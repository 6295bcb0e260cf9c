"""From one combination of ways to its rows: trigger wired or not, running or not, sun or not."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from logic.case import FaultId
from logic.circuit.estimate import Estimate
from logic.circuit.healthy import Healthy
from logic.diagnosis.catalogue import Way
from logic.vehicle.installation import Control, Installation

# A running pattern that the supply makes this improbable beforehand is not considered.
_LEAST_PATTERN = 0.003
_OFF = (False, False, False, False)
_PANEL = {"connected": 0, "open": 1, "blocked": 2}


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

    @property
    def live(self) -> bool:
        """Whether the trigger terminal is live with the engine running."""
        return self.wired and all(way.signal == "as_fitted" for way in self.ways)


def expand(
    installation: Installation, sound: Healthy, base: dict[str, Estimate], row: Row
) -> Iterator[Row]:
    """Yield a combination's rows, each with its share of the combination's prior."""
    for wired, share in _wiring(installation, sound, row):
        live = wired and all(way.signal == "as_fitted" for way in row.ways)
        ln_prior = row.ln_prior + math.log(share)
        for on, gate in _patterns(sound, base, row.ways, live):
            for sunny, chance in _sky(installation, row.ways):
                yield Row(row.faults, row.ways, ln_prior + math.log(chance), wired, on, gate, sunny)


def _sky(installation: Installation, ways: tuple[Way, ...]) -> tuple[tuple[bool, float], ...]:
    """Whether the panel has light while the engine runs: a workshop has a roof."""
    if installation.solar is None or panel_state(ways) > 0:
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


def panel_state(ways: tuple[Way, ...]) -> int:
    """Return 0 for a panel that is connected, 1 for an open lead, 2 for one that is blocked."""
    return max(_PANEL[way.panel] for way in ways)
