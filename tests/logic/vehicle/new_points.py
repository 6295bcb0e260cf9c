"""Take the points that nobody said what they should show through the whole of ``logic``.

Run by ``test_new_points.py`` in a copy of the sources that declares some more, with the folder
for what it writes; prints how many there were.
"""

import io
import sys
from pathlib import Path

from logic.case import Case, Judgement, Reading
from logic.desk.csv_table import write_table
from logic.diagnosis.engine import diagnose
from logic.limits.then_and_now import compare
from logic.limits.verdict import EXPECTED, judge
from logic.records.events import Event, JobOpened, ReadingTaken, VehicleDescribed, new_id
from logic.records.label.encoding import decode, encode
from logic.records.paper.report import compose
from logic.records.store.store import Store
from logic.vehicle.identity import Vehicle
from logic.vehicle.points import Point, State
from logic.words.entry import parse_reading
from logic.words.figures import as_read, limits
from logic.words.names import reading_name, where
from tests.logic.records.sample_records import LIBRARY_VAN, commissioning, judged, reading, seal

NEW = [point for point in Point if point not in EXPECTED]
TAKEN = tuple(Reading(point=point, state=state, value=1.0) for point in NEW for state in State)
USUAL = (
    Reading(point=Point.VEHICLE_FEED_DROP, state=State.IDLE, value=0.31),
    Reading(point=Point.INPUT_CURRENT, state=State.IDLE, value=31.0),
    Reading(point=Point.OUTPUT_CURRENT, state=State.IDLE, value=24.0),
)


def it_can_be_typed_and_named(point):
    assert parse_reading("1", point, 12).value == 1.0
    assert point.full_name in reading_name(point, State.IDLE)
    assert as_read(point, 1.0)
    assert limits(point, None, None) == "no limit"
    assert bool(where(point)) == bool(point.red or point.clamp_on)


def it_has_no_limit(taken):
    verdict = judge(LIBRARY_VAN, TAKEN + USUAL, taken)
    assert verdict.verdict is Judgement.NO_LIMIT
    assert verdict.reason.endswith("what it should be is not known.")


def it_is_left_out_of_the_diagnosis():
    without = diagnose(Case(installation=LIBRARY_VAN, readings=USUAL, baseline=USUAL))
    both = TAKEN + USUAL
    found = diagnose(Case(installation=LIBRARY_VAN, readings=both, baseline=both))
    assert found.findings == without.findings
    assert found.marginals == without.marginals
    assert not {one.point for one in found.next_readings} & set(NEW)
    assert len(found.verdicts) == len(TAKEN + USUAL)


def it_is_compared_with_commissioning():
    earlier = [one.model_copy(update={"value": 0.0}) for one in TAKEN]
    assert {change.point for change in compare(LIBRARY_VAN, TAKEN, earlier)} == set(NEW)


def it_is_stored(folder):
    vehicle_id, job_id = new_id(), new_id()
    opened = JobOpened(job_kind="callback", checklist_id="", checklist_version=1)
    bodies = [VehicleDescribed(vehicle=Vehicle(registration="BEE 311")), opened]
    bodies += [ReadingTaken(reading=taken) for taken in TAKEN]
    with Store.open(folder) as store:
        for body in bodies:
            job = None if isinstance(body, VehicleDescribed) else job_id
            store.append(Event(vehicle_id=vehicle_id, job_id=job, body=body))
    with Store.open(folder) as store:
        stored = store.job(job_id).readings
    assert [(one.point, one.state, one.value) for one in stored] == [
        (one.point, one.state, one.value) for one in TAKEN
    ]


def it_is_printed_exported_and_put_on_a_label():
    steps = tuple(
        reading("key_off", point.full_name, judged(point, "rest", 1.0, (None, None), "no_limit"))
        for point in NEW
    )
    sealed = seal(commissioning(steps=steps, readings=TAKEN))
    assert compose(sealed, lambda _: None).startswith(b"%PDF")
    table = io.StringIO()
    assert write_table([sealed], table) == len(steps) + len(TAKEN)
    rows = [f'"{point.value}","rest","1.0","{point.unit}"' for point in NEW]
    assert all(row in table.getvalue() for row in rows)
    label = decode(encode(sealed))
    assert label.left_out == 0
    assert {one.key for one in label.readings} == {one.key for one in TAKEN}


for new_point in NEW:
    it_can_be_typed_and_named(new_point)
for one_taken in TAKEN:
    it_has_no_limit(one_taken)
it_is_left_out_of_the_diagnosis()
it_is_compared_with_commissioning()
it_is_stored(Path(sys.argv[1]))
it_is_printed_exported_and_put_on_a_label()
print(len(NEW))
