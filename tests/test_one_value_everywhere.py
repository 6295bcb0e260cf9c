"""One reading in every room that shows it: the same text, or its short form on the picture."""

import csv
import io
import re

import pytest
from click.testing import CliRunner
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from logic.case import Reading, ReadingEvidence
from logic.checklist.answers import ReadingAnswer
from logic.desk.csv_table import write_table
from logic.desk.main import office
from logic.diagnosis.wording import evidence_in_words
from logic.diagram.picture import circuit_picture
from logic.limits.verdict import judge
from logic.records.events import Event, ReadingTaken
from logic.records.outcomes import answer, answer_words
from logic.records.paper.report import compose
from logic.records.store.store import Store
from logic.vehicle.points import DROP_ACROSS, Point, State, Unit
from logic.words.figures import as_read, short
from mobile.jobs.callback_words import findings
from tests.diagnoses import diagnosis
from tests.logic.records import scenes
from tests.logic.records.sample_records import LIBRARY_VAN, callback, commissioning, seal
from tests.logic.records.sample_records import reading as step_of

METERED = [point for point in Point if point.unit is not Unit.LIT]
VALUE = st.one_of(
    st.floats(-200, 200, allow_subnormal=False),
    st.decimals(-20, 200, places=3).map(float),
    st.sampled_from([0.083, -0.186, 7.5e-3, 23.46, 0.0, 13.9]),
)


def as_number(text):
    found = re.match(r"(?:in |out )?(−?\d+(?:\.(\d+))?)", text)
    return float(found[1].replace("−", "-")), len(found[2] or "")


@given(st.sampled_from(list(Point)), st.sampled_from(list(State)), VALUE)
def test_walk_reason_evidence_record_and_table_say_the_same_and_it_is_the_value(
    point, state, value
):
    value = float(value >= 0.5) if point.unit is Unit.LIT else value
    read = Reading(point=point, state=state, value=value)
    text = as_read(point, value)
    verdict = judge(LIBRARY_VAN, (), read)
    step = step_of("step", "Any", verdict, answer=ReadingAnswer(value=value))
    evidence = ReadingEvidence(
        kind="against",
        point=point,
        state=state,
        value=value,
        expected=None,
        rival=("no_fault",),
        expected_under_rival=None,
    )
    target = io.StringIO(newline="")
    write_table([seal(commissioning(steps=(step,)))], target)
    [row] = csv.DictReader(io.StringIO(target.getvalue(), newline=""))
    assert answer_words(ReadingAnswer(value=value), point=point) == text
    assert answer(step) == text
    assert row["answer"] == text
    assert verdict.reason.startswith(f"{text};") or verdict.reason.startswith(f"{text} lost at")
    assert f": {text} suits" in evidence_in_words(evidence)
    if point.unit is not Unit.LIT:
        said, decimals = as_number(text)
        assert abs(said - value) <= 0.5 * 10**-decimals + 1e-9


@given(st.sampled_from([p for p in METERED if p.unit is not Unit.SHARE]), VALUE)
def test_the_picture_says_the_short_form_which_begins_with_the_same_digits(point, value):
    assume(point.part is not None or point.unit is not Unit.CELSIUS)
    read = Reading(point=point, state=State.IDLE, value=value)
    verdict = judge(LIBRARY_VAN, (), read)
    picture = circuit_picture(LIBRARY_VAN, State.IDLE, [read], [verdict])
    shown = [*(one.text for one in picture.values.values()), *picture.temperatures.values()]
    if point in DROP_ACROSS.values():
        shown = [drop.volts for drop in picture.drops.values() if drop.volts]
    [text] = shown
    for lead in ("in ", "out ", "set to "):
        text = text.removeprefix(lead)
    assert text == short(point, value)
    said, decimals = as_number(text)
    assert abs(said - value) <= 0.5 * 10**-decimals + 1e-9
    assert len(re.findall(r"\d", text)) <= 4 or decimals == 0
    whole = as_read(point, value)
    assert whole == short(point, value) or len(re.findall(r"\d", whole)) > 4


@settings(
    max_examples=5, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.lists(VALUE, min_size=len(METERED), max_size=len(METERED)), st.sampled_from(list(State)))
def test_the_pages_and_the_desk_say_the_same(tmp_path_factory, values, state):
    readings = [
        Reading(point=point, state=state, value=value)
        for point, value in zip(METERED, values, strict=True)
    ]
    record = commissioning(job_kind="callback", steps=(), readings=readings)
    pages = PdfReader(io.BytesIO(compose(seal(record), lambda _: None))).pages
    paper = re.sub(r"\s+", " ", " ".join(page.extract_text() for page in pages))
    folder = tmp_path_factory.mktemp("desk") / "store"
    with Store.open(folder) as store:
        vehicle = scenes.van(store, "SAW 051")
        job = scenes.open_job(store, vehicle, "callback")
        for read in readings:
            body = ReadingTaken(reading=read)
            store.append(Event(vehicle_id=vehicle, job_id=job, device="one", body=body))
    desk = CliRunner().invoke(office, ["--store", str(folder), "show", "SAW"]).output
    for read in readings:
        text = as_read(read.point, read.value)
        assert f" {text} " in paper
        assert f"{read.point.full_name}, {read.state.full_name.lower()}: {text}\n" in desk


@pytest.mark.parametrize("point", Point)
def test_every_point_has_its_text(point):
    assert as_read(point, 1.0)


@given(st.lists(st.floats(0.001, 1), min_size=3, max_size=3), st.floats(0, 0.9))
@settings(max_examples=15, deadline=None)
def test_a_probability_is_the_same_per_cent_on_the_screen_and_on_paper(weights, unexplained):
    faults = ("vehicle_feed_resistive", "charger_output_limited", "house_fuse_open")
    shares = sorted((w / sum(weights) * (1 - unexplained) for w in weights), reverse=True)
    found = diagnosis(*zip(faults, shares, strict=True), unexplained=unexplained)
    pdf = compose(seal(callback().model_copy(update={"diagnosis": found})), {}.get)
    pages = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)
    printed = re.sub(r"\s+", " ", pages)
    for one in findings(found):
        assert f"{one.percent}: {one.title}" in printed
