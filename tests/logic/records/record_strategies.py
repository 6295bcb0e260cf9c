"""Strategies that make any record at all, for the tests of what is printed and exchanged."""

from datetime import UTC, datetime, timedelta, timezone

from hypothesis import strategies as st

from logic.case import Judgement, Reading, Verdict
from logic.checklist.answers import TextAnswer
from logic.records.record import StepRecord
from logic.vehicle.identity import Vehicle
from logic.vehicle.points import Point, State
from tests.logic.records.sample_records import BRISBANE, commissioning

TEXTS = st.text(st.characters(exclude_categories=("Cs",)), max_size=60)
MOMENTS = st.datetimes(
    min_value=datetime(2000, 1, 2),
    max_value=datetime(2099, 12, 30),
    timezones=st.sampled_from([UTC, BRISBANE, timezone(-timedelta(hours=3, minutes=30))]),
)
READINGS = st.builds(
    Reading,
    point=st.sampled_from(Point),
    state=st.sampled_from(State),
    value=st.floats(-1000, 1000, allow_nan=False),
)
VERDICTS = st.builds(
    Verdict,
    point=st.sampled_from(Point),
    state=st.sampled_from(State),
    value=st.floats(-1000, 1000),
    expected_low=st.none() | st.floats(-1000, 1000),
    expected_high=st.none() | st.floats(-1000, 1000),
    uncertainty=st.floats(0, 100),
    verdict=st.sampled_from(Judgement),
    reason=TEXTS,
)
STEPS = st.builds(
    StepRecord,
    step_id=st.just("any_step"),
    stage_id=st.sampled_from(["before_power", "key_off", ""]),
    title=TEXTS,
    outcome=st.sampled_from(["done", "skipped", "open"]),
    answer=st.none() | st.builds(TextAnswer, text=TEXTS),
    text=TEXTS | st.text("ab \n", min_size=200, max_size=1500),
    acceptable=st.booleans(),
    verdict=st.none() | VERDICTS,
    notes=st.lists(TEXTS, max_size=2).map(tuple),
    skip_reason=TEXTS,
    explanation=TEXTS,
    photos=st.lists(st.just("d" * 64), max_size=1).map(tuple),
)
VEHICLES = st.builds(
    Vehicle,
    registration=st.text(
        st.characters(exclude_categories=("Cs", "Z", "C")), min_size=1, max_size=8
    ),
    description=TEXTS,
)
RECORDS = st.builds(
    commissioning,
    vehicle=VEHICLES,
    signed_at=MOMENTS,
    steps=st.lists(STEPS, max_size=5).map(tuple),
    place=TEXTS,
)
