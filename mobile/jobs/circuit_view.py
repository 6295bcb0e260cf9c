"""What the circuit's picture shows of a job in hand. No Kivy."""

from collections.abc import Iterable
from typing import TYPE_CHECKING

from logic.case import Diagnosis
from logic.diagram.picture import (
    CircuitPicture,
    circuit_picture,
    covered_states,
    is_shown_in,
)
from logic.limits.ladder import Ladder
from logic.limits.verdict import judge
from logic.records.record import StepRecord
from logic.records.review import WorkDone, read_verdicts, verdicts_of_readings
from logic.vehicle.installation import Location, RepairedPart
from logic.vehicle.points import LOOP, ReadingKey, Run, State, side_through_plug
from mobile.jobs.callback import Callback
from mobile.jobs.field_limits import ISOLATORS, SECOND_UNIT, SOLAR_FITTED, SOURCES
from mobile.jobs.form_entry import Draft, has_trailer
from mobile.jobs.typed_reading import ReadingContext

if TYPE_CHECKING:
    from mobile.jobs.walk import Walk


def of_step(context: ReadingContext) -> CircuitPicture:
    """Gather what was read so far in the state of a step's reading, and mark that reading."""
    here = [one for one in context.readings if is_shown_in(one.key, context.state)]
    return circuit_picture(
        context.installation,
        context.state,
        here,
        [judge(context.installation, context.readings, one, context.baseline) for one in here],
        marked=context.point,
    )


def of_set_up(draft: Draft) -> CircuitPicture:
    """Draw the circuit as a set-up describes it, with what is not described yet lit."""
    return CircuitPicture(
        has_solar=draft.get(SOLAR_FITTED) == "yes",
        has_second_unit=bool(draft.get(SECOND_UNIT, "").strip()),
        isolators=frozenset(run for run, path in ISOLATORS.items() if draft.get(path) == "yes"),
        plug_in=_plug_of(draft),
        sources=frozenset(source for source, path in SOURCES.items() if draft.get(path) == "yes"),
        lit=frozenset(part for part, path in _DESCRIBED_BY.items() if not draft.get(path, "")),
    )


def _plug_of(draft: Draft) -> Run | None:
    if not has_trailer(draft):
        return None
    place = draft.get("location", "")
    feed, _ = side_through_plug(Location(place) if place else None)
    return feed


# A part counts as described once this figure of it is known.
_DESCRIBED_BY = {
    RepairedPart.START_BATTERY: "start_battery.chemistry",
    RepairedPart.CHARGER: "charger.rated_output_current_a",
    RepairedPart.HOUSE_BATTERY: "house_battery.chemistry",
} | {RepairedPart(run.value): f"runs.{run}.length_m" for run in LOOP}


def of_question(walk: "Walk") -> CircuitPicture:
    """Gather what was read so far, with the parts lit that the step in hand is about."""
    read, fitted = walk.readings, walk.installation
    state = next(iter(covered_states(read)), State.REST)
    here = [one for one in read if is_shown_in(one.key, state)]
    verdicts = [judge(fitted, read, one) for one in here]
    return circuit_picture(fitted, state, here, verdicts, lit=walk.step.proves)


def of_callback(callback: Callback, ladder: Ladder, wanted: ReadingKey | None) -> CircuitPicture:
    """Gather what the state in hand shows, with the wanted reading marked if it is of it."""
    found = callback.diagnosis if not callback.is_thinking else None
    return circuit_picture(
        callback.installation,
        callback.state,
        callback.readings,
        found.verdicts if found else (),
        drops=ladder.drops,
        suspects=suspects(found),
        lit=_suspected_parts(found),
        marked=wanted.point if wanted and wanted.state is callback.state else None,
    )


def of_review(work: WorkDone, steps: Iterable[StepRecord]) -> dict[State, CircuitPicture]:
    """Gather what a job's states show as it would be signed now, the best covered first."""
    verdicts = read_verdicts(steps, verdicts_of_readings(work))
    return {
        state: circuit_picture(work.installation, state, verdicts, verdicts)
        for state in covered_states(verdicts)
    }


def _suspected_parts(found: Diagnosis | None) -> frozenset[RepairedPart]:
    """Return the parts of the likeliest finding, where it is likelier than all else together."""
    if found is None or not found.findings or found.findings[0].probability <= _LIKELIER:
        return frozenset()
    from logic.diagnosis.catalogue import parts_touched

    return parts_touched(found.findings[0].faults)


_LIKELIER = 0.5


def suspects(found: Diagnosis | None) -> dict[ReadingKey, str]:
    """Return the readings that cannot be right, with the reason."""
    return {doubt.key: doubt.reason for doubt in found.suspect_readings} if found else {}
