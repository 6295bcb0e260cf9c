"""What a walk costs: screens, taps, readings, probe moves, clamp placements, waits, minutes.

Computed from the steps alone, so that the author of a checklist sees what one more step costs
before anybody walks it: a job on which nothing is out. ``python -m logic.checklist.budget
checklists`` prints it for a few installations and depths beside each checklist's own budget; what
the readings find is in ``tests/benchmarks/walk_budget.py``, for it needs simulated vehicles.
"""

import sys
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from logic.checklist import run
from logic.checklist.conditions import Facts
from logic.checklist.depth import Depth
from logic.checklist.form import load
from logic.checklist.step import AskChoice, AskPhoto, AskReading, AskText, AskYesNo, Checklist, Step
from logic.quantities import Minute, Second
from logic.vehicle.installation import Installation, Solar
from logic.vehicle.points import Lead, Part, Point, Post, Run, State, Unit

# Seconds of one technician's work. All assumed: common practice, no published source.
SCREEN_S = 8.0  # to read a step's screen and go on
STAGE_S = 15.0  # to read a stage's first screen with its cautions
READ_AND_TYPE_S = 25.0  # to let the meter settle and type what it shows
PROBE_MOVE_S = 25.0  # one probe from one post to another, the meter in the same hand
CLAMP_S = 60.0  # the clamp zeroed, round another cable, its arrow looked at
STATE_S = 60.0  # key off, engine started, or panel uncovered
LOOK_S = 20.0  # to look at what a yes/no or a choice asks about
WRITE_S = 45.0  # a few words, or a photo
# Taps. Assumed: 12.64 is five keys, and Next one more; a photo is asked for, taken and taken over.
READING_TAPS, PHOTO_TAPS = 6, 3


@dataclass(frozen=True)
class Effort:
    """What some steps cost, in the order given."""

    screens: int
    taps: int
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
        How many stages with a screen of their own they belong to.

    Returns
    -------
    Effort
        ``waits`` and ``minutes`` in min. A probe that stays on its post is not moved. Of a wait
        only that is counted which the steps since its beginning have not used up.
    """
    walk = _Walk()
    for step in steps:
        walk.take(step)
    return Effort(
        screens=walk.screens + stages,
        taps=walk.taps + stages,
        readings=walk.readings,
        probe_moves=walk.probe_moves,
        clamp_placements=walk.clamp_placements,
        engine_starts=walk.engine_starts,
        waits=walk.waits_s / 60,
        minutes=(walk.seconds + stages * STAGE_S) / 60,
    )


class _Walk:
    """Where meter, clamp and vehicle are while the steps are taken, and what that took so far."""

    def __init__(self) -> None:
        self.screens = self.taps = self.readings = self.probe_moves = self.clamp_placements = 0
        self.engine_starts = 0
        self.waits_s: Second = 0.0
        self.seconds: Second = 0.0
        self._done_at: dict[str, Second] = {}
        self._look: str | None = None
        self._probes: tuple[Post | None, Post | None] = (None, None)
        self._clamped: Lead | Run | Part | None = None
        self._state: State | None = None

    def take(self, step: Step) -> None:
        """Take one step."""
        is_on_the_same_screen = step.look is not None and step.look == self._look
        self._look = step.look
        if not is_on_the_same_screen:
            self.screens += 1
            self.seconds += SCREEN_S
        self._wait(step)
        match step.ask:
            case AskReading(point=point, state=state):
                self.readings += 1
                self.taps += 1 if point.unit is Unit.LIT else READING_TAPS
                self.seconds += READ_AND_TYPE_S
                self._change_state(state)
                self._reach(point)
            case AskYesNo() | AskChoice():
                self.taps += not is_on_the_same_screen
                self.seconds += LOOK_S
            case AskText() | AskPhoto():
                self.taps += PHOTO_TAPS
                self.seconds += WRITE_S
        self._done_at[step.id] = self.seconds

    def _wait(self, step: Step) -> None:
        begun = self._done_at.get(step.wait_from or "", self.seconds)
        left = max(0.0, step.wait_s - (self.seconds - begun))
        self.waits_s += left
        self.seconds += left

    def _change_state(self, state: State) -> None:
        if state is self._state:
            return
        was_running = self._state is not None and self._state.engine_runs
        self.engine_starts += state.engine_runs and not was_running
        if self._state is not None:
            self.seconds += STATE_S
        self._state = state

    def _reach(self, point: Point) -> None:
        if point.clamp_on is not None and point.clamp_on is not self._clamped:
            self.clamp_placements += 1
            self.seconds += CLAMP_S
            self._clamped = point.clamp_on
        if point.red is not None and point.black is not None:
            before_red, before_black = self._probes
            moved = (point.red is not before_red) + (point.black is not before_black)
            self.probe_moves += moved
            self.seconds += moved * PROBE_MOVE_S
            self._probes = point.red, point.black


PLAIN_JOB = Installation.model_validate(
    {
        "alternator": {"control": "fixed"},
        "charger": {"rated_output_current_a": 25},
        "house_battery": {"chemistry": "agm", "capacity_ah": 100},
        "location": "tray",
    }
)
"""One charger in the tray, a fixed alternator, no panel, nothing extra."""

LITHIUM_JOB = Installation.model_validate(
    {
        "alternator": {"control": "variable"},
        "start_battery": {"chemistry": "agm", "capacity_ah": 80},
        "charger": {"rated_output_current_a": 40},
        "house_battery": {"chemistry": "lifepo4", "capacity_ah": 100},
        "location": "cabin",
    }
)
"""A lithium house battery in the cabin, a variable alternator, no panel: what a budget is for."""

SOLAR_JOB = LITHIUM_JOB.model_copy(update={"solar": Solar(rated_power_w=200)})
JOBS = {"plain": PLAIN_JOB, "lithium": LITHIUM_JOB, "lithium and panel": SOLAR_JOB}
# Every job at the depth that a workshop has unless it chooses, the one of the budget at the others.
ROWS = (
    *((name, Depth.STANDARD) for name in JOBS),
    ("lithium", Depth.SHORT),
    ("lithium", Depth.FULL),
)


def steps_of(
    checklist: Checklist, installation: Installation, depth: Depth = Depth.STANDARD
) -> tuple[Step, ...]:
    """List the steps of a job on which nothing comes out of range."""
    return run.applicable_steps(checklist, Facts(installation, depth=depth))


def effort_of(
    checklist: Checklist, installation: Installation, depth: Depth = Depth.STANDARD
) -> Effort:
    """Return what a checklist costs on an installation on which nothing comes out of range."""
    steps = steps_of(checklist, installation, depth)
    stages = {checklist.stage_of[step.id].id for step in steps}
    return effort(steps, sum(checklist.stages_by_id[stage].has_screen for stage in stages))


def over_budget(checklist: Checklist) -> str:
    """Say by how much the lithium job is over the checklist's own budget and what to do, or ""."""
    if checklist.budget_minutes is None:
        return ""
    minutes = effort_of(checklist, LITHIUM_JOB).minutes
    if minutes <= checklist.budget_minutes:
        return ""
    return (
        f"{checklist.id}: a plain lithium job takes {minutes:.1f} min, over its budget of "
        f"{checklist.budget_minutes:g} min. Put the new step where hands and leads are already, "
        "let a reading that is out bring it in (brought_in_by), leave it to the full sheet "
        "(depth), take out a step that it makes needless, or raise budget_minutes in the "
        "checklist's checklist.toml and say there what the time buys."
    )


HEAD = f"{'':44}screens   taps readings  probes  clamp starts   waits minutes"


def line(name: str, cost: Effort) -> str:
    """Return one row of the table under :data:`HEAD`."""
    return (
        f"{name:44}{cost.screens:7d} {cost.taps:6d} {cost.readings:8d} "
        f"{cost.probe_moves:7d} {cost.clamp_placements:6d} {cost.engine_starts:6d} "
        f"{cost.waits:7.1f} {cost.minutes:7.1f}"
    )


def main(folder: Path) -> None:
    """Print what each checklist costs on a few installations and depths."""
    print(HEAD)
    for checklist in load(folder).checklists.values():
        for name, depth in ROWS:
            cost = effort_of(checklist, JOBS[name], depth)
            print(line(f"{checklist.id}, {name}, {depth.words.lower()}", cost))
        print(over_budget(checklist) or f"  budget: {checklist.budget_minutes or 'none'} min")


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit("Say where the checklists are: python -m logic.checklist.budget checklists")
    main(Path(sys.argv[1]))
