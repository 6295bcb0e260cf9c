"""The readings of a signed record that a later job is compared with."""

from logic.case import Reading
from logic.records.record import Record


def readings_of(record: Record) -> tuple[Reading, ...]:
    """Return the readings that the vehicle left with, one for each point and state.

    Those of the checklist's steps, then the fault-finding ones: after the repair where there
    are any. Where a point was read twice in a state, the later one counts.
    """
    of_steps = [
        Reading(
            point=step.verdict.point,
            state=step.verdict.state,
            value=step.verdict.value,
            taken_at=step.at,
        )
        for step in record.steps
        if step.verdict and step.outcome == "done"
    ]
    found = (*of_steps, *(record.readings_after or record.readings))
    return tuple({reading.key: reading for reading in found}.values())
