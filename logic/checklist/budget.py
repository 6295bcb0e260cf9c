"""What a walk costs: readings, probe moves, clamp placements, engine starts, waits, minutes.

Computed from the steps alone, so that the author of a checklist sees what one more step costs
before anybody walks it. ``python -m logic.checklist.budget checklists`` prints it for a few
installations beside each checklist's own budget.
"""

import sys
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from logic.checklist import run
from logic.checklist.conditions import Facts
from logic.checklist.form import load
from logic.checklist.step import AskChoice, AskPhoto, AskReading, AskText, AskYesNo, Checklist, Step
from logic.quantities import Minute
from logic.vehicle.installation import Installation, Solar
from logic.vehicle.points import Part, Point, Post, Run, State

# Seconds of one technician's work. All assumed: common practice, no published source.
SCREEN_S = 8.0  # to read a step's screen and go on
STAGE_S = 15.0  # to read a stage's first screen with its cautions
READ_AND_TYPE_S = 25.0  # to let the meter settle and type what it shows
PROBE_MOVE_S = 25.0  # one probe from one post to another, the meter in the same hand
CLAMP_S = 60.0  # the clamp zeroed, round another cable, its arrow looked at
STATE_S = 60.0  # key off, engine started, or panel uncovered
LOOK_S = 20.0  # to look at what a yes/no or a choice asks about
WRITE_S = 45.0  # a few words, or a photo


@dataclass(frozen=True)
class Effort:
    """What some steps cost, in the order given."""

    screens: int
    readings: int
    probe_moves: int
    clamp_placements: int
    engine_starts: int
    waits: Minute
    minutes: Minute


def effort(steps: Iterable[Step], stages: int = 0) -> Effort:
    """Count what steps cost, taken one after the other by one technician.

    Parameters
    ----------
    steps
        Those that apply, in order.
    stages
        How many stages they belong to; each has a screen of its own.

    Returns
    -------
    Effort
        ``waits`` and ``minutes`` in min. A probe that stays on its post is not moved; a
        wait is counted whole, as if nothing else were done meanwhile.
    """
    walk = _Walk()
    for step in steps:
        walk.take(step)
    seconds = (
        (walk.screens * SCREEN_S)
        + stages * STAGE_S
        + walk.readings * READ_AND_TYPE_S
        + walk.probe_moves * PROBE_MOVE_S
        + walk.clamp_placements * CLAMP_S
        + walk.state_changes * STATE_S
        + walk.looked_at * LOOK_S
        + walk.written * WRITE_S
        + walk.waits_s
    )
    return Effort(
        screens=walk.screens + stages,
        readings=walk.readings,
        probe_moves=walk.probe_moves,
        clamp_placements=walk.clamp_placements,
        engine_starts=walk.engine_starts,
        waits=walk.waits_s / 60,
        minutes=seconds / 60,
    )


class _Walk:
    """Where meter, clamp and vehicle are while the steps are taken, and what that took so far."""

    def __init__(self) -> None:
        self.screens = self.readings = self.probe_moves = self.clamp_placements = 0
        self.engine_starts = self.state_changes = self.looked_at = self.written = 0
        self.waits_s = 0.0
        self._probes: tuple[Post | None, Post | None] = (None, None)
        self._clamped: Run | Part | None = None
        self._state: State | None = None

    def take(self, step: Step) -> None:
        """Take one step."""
        self.screens += 1
        self.waits_s += step.wait_s
        match step.ask:
            case AskReading(point=point, state=state):
                self.readings += 1
                self._change_state(state)
                self._reach(point)
            case AskYesNo() | AskChoice():
                self.looked_at += 1
            case AskText() | AskPhoto():
                self.written += 1

    def _change_state(self, state: State) -> None:
        if state is self._state:
            return
        was_running = self._state is not None and self._state.engine_runs
        self.engine_starts += state.engine_runs and not was_running
        self.state_changes += self._state is not None
        self._state = state

    def _reach(self, point: Point) -> None:
        if point.clamp_on is not None and point.clamp_on is not self._clamped:
            self.clamp_placements += 1
            self._clamped = point.clamp_on
        if point.red is not None and point.black is not None:
            before_red, before_black = self._probes
            self.probe_moves += (point.red is not before_red) + (point.black is not before_black)
            self._probes = point.red, point.black


PLAIN_JOB = Installation.model_validate(
    {
        "alternator": {"control": "fixed"},
        "charger": {"rated_output_current_a": 25},
        "house_battery": {"chemistry": "agm", "capacity_ah": 100},
        "location": "tray",
    }
)
"""One charger in the tray, a fixed alternator, no panel, nothing extra: what a budget is for."""

LITHIUM_JOB = Installation.model_validate(
    {
        "alternator": {"control": "variable"},
        "start_battery": {"chemistry": "agm", "capacity_ah": 80},
        "charger": {"rated_output_current_a": 40},
        "house_battery": {"chemistry": "lifepo4", "capacity_ah": 100},
        "location": "cabin",
    }
)
SOLAR_JOB = LITHIUM_JOB.model_copy(update={"solar": Solar(rated_power_w=200)})
JOBS = {"plain": PLAIN_JOB, "lithium": LITHIUM_JOB, "lithium and panel": SOLAR_JOB}


def effort_of(checklist: Checklist, installation: Installation) -> Effort:
    """Return what a checklist costs on an installation before anything is answered."""
    steps = run.applicable_steps(checklist, Facts(installation))
    return effort(steps, len({checklist.stage_of[step.id].id for step in steps}))


def over_budget(checklist: Checklist) -> str:
    """Say by how much the plain job is over the checklist's own budget and what to do, or ""."""
    if checklist.budget_minutes is None:
        return ""
    minutes = effort_of(checklist, PLAIN_JOB).minutes
    if minutes <= checklist.budget_minutes:
        return ""
    return (
        f"{checklist.id}: a plain job takes {minutes:.1f} min, over its budget of "
        f"{checklist.budget_minutes:g} min. Put the new step where hands and leads are already, "
        "give it a condition so that it is asked for only where it matters, take out a step that "
        "it makes needless, or raise budget_minutes in the checklist's checklist.toml and say "
        "there what the time buys."
    )


def main(folder: Path) -> None:
    """Print what each checklist costs on a few installations."""
    print(f"{'':34}screens readings  probes  clamp starts   waits minutes")
    for checklist in load(folder).checklists.values():
        for name, installation in JOBS.items():
            cost = effort_of(checklist, installation)
            print(
                f"{f'{checklist.id}, {name}':34}{cost.screens:7d} {cost.readings:8d} "
                f"{cost.probe_moves:7d} {cost.clamp_placements:6d} {cost.engine_starts:6d} "
                f"{cost.waits:7.1f} {cost.minutes:7.1f}"
            )
        print(over_budget(checklist) or f"  budget: {checklist.budget_minutes or 'none'} min")


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit("Say where the checklists are: python -m logic.checklist.budget checklists")
    main(Path(sys.argv[1]))
