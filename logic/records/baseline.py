"""The readings of a signed record that a later job is compared with."""

from pydantic import ValidationError

from logic.case import Reading, Verdict
from logic.errors import RecordError
from logic.records.record import Record, StepRecord
from logic.words.names import reading_name


def readings_of(record: Record) -> tuple[Reading, ...]:
    """Return the readings that the vehicle left with, one for each point and state.

    Those of the checklist's steps, then the fault-finding ones: after the repair where there
    are any. Where a point was read twice in a state, the later one counts.

    Raises
    ------
    RecordError
        A step's value is none that any meter shows: the record was made by something else.
    """
    of_steps = [
        _reading(step, step.verdict)
        for step in record.steps
        if step.verdict and step.outcome == "done"
    ]
    found = (*of_steps, *(record.readings_after or record.readings))
    return tuple({reading.key: reading for reading in found}.values())


def _reading(step: StepRecord, read: Verdict) -> Reading:
    try:
        return Reading(point=read.point, state=read.state, value=read.value, taken_at=step.at)
    except ValidationError as error:
        raise RecordError(
            f"The record has {read.value:g} as {reading_name(read.point, read.state)}, which no "
            "meter shows. Take the reading anew instead."
        ) from error
