"""What must hold of every diagnosis, whatever is read on whatever is fitted."""

import json
from functools import lru_cache

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import logic
from logic.case import ReadingEvidence
from logic.diagnosis.catalogue import faults
from logic.words.figures import worked_out
from tests.simulator.descriptions import draw_installation
from tests.simulator.faults_put_in import draw_name
from tests.simulator.sheets import bench, full_sheet

SOME = settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))


@lru_cache(maxsize=64)
def sheet(seed: int) -> str:
    rng = np.random.default_rng((5, seed))
    description = draw_installation(rng)
    description, on = bench(rng, (draw_name(rng, description),), description)
    readings = [on.read(*place) for place in full_sheet(description)]
    return json.dumps({"installation": description, "readings": readings})


def diagnosed(case: dict) -> logic.Diagnosis:
    return logic.diagnose(logic.Case.model_validate(case))


def some_readings(case: dict, keep: list[bool]) -> dict:
    kept = [r for r, flag in zip(case["readings"], keep, strict=False) if flag]
    return case | {"readings": kept}


@SOME
@given(st.integers(0, 40), st.lists(st.booleans(), min_size=30, max_size=30))
def test_findings_sum_to_one_at_most_and_marginals_cover_every_fault(
    seed: int, keep: list[bool]
) -> None:
    found = diagnosed(some_readings(json.loads(sheet(seed)), keep))
    total = sum(finding.probability for finding in found.findings)
    assert 0 <= found.unexplained <= 1
    assert 0.9 < total + found.unexplained <= 1 + 1e-9
    assert list(found.marginals) == list(faults())
    assert all(0 <= p <= 1 for p in found.marginals.values())
    probabilities = [finding.probability for finding in found.findings]
    assert probabilities == sorted(probabilities, reverse=True)


@SOME
@given(st.integers(0, 40), st.randoms(use_true_random=False))
def test_the_order_of_readings_does_not_matter(seed: int, shuffler: object) -> None:
    case = json.loads(sheet(seed))
    mixed = case | {"readings": shuffler.sample(case["readings"], len(case["readings"]))}
    first, second = diagnosed(case), diagnosed(mixed)
    assert first.findings == second.findings
    assert first.next_readings == second.next_readings
    assert first.suspect_readings == second.suspect_readings


@SOME
@given(st.integers(0, 40))
def test_the_same_case_gets_the_same_answer_twice(seed: int) -> None:
    case = json.loads(sheet(seed))
    assert diagnosed(case) == diagnosed(case)


@SOME
@given(st.integers(0, 40), st.lists(st.booleans(), min_size=30, max_size=30))
def test_what_was_read_is_not_asked_for_again(seed: int, keep: list[bool]) -> None:
    case = some_readings(json.loads(sheet(seed)), keep)
    taken = {(r["point"], r["state"]) for r in case["readings"]}
    offered = {(r.point.value, r.state.value) for r in diagnosed(case).next_readings}
    assert not taken & offered


@SOME
@given(st.integers(0, 40), st.lists(st.booleans(), min_size=30, max_size=30))
def test_every_offered_reading_tells_something_and_costs_something(
    seed: int, keep: list[bool]
) -> None:
    offered = diagnosed(some_readings(json.loads(sheet(seed)), keep)).next_readings
    assert all(r.cost_minutes > 0 for r in offered)
    # What decides about a repair may tell nothing more of the fault.
    assert all(r.information_bits > 0 or len(r.tells_apart) == 1 for r in offered)


@SOME
@given(st.integers(0, 40), st.lists(st.booleans(), min_size=30, max_size=30))
def test_what_is_out_of_reach_is_never_asked_for(seed: int, keep: list[bool]) -> None:
    case = some_readings(json.loads(sheet(seed)), keep)
    barred = [{"point": r.point, "state": r.state} for r in diagnosed(case).next_readings[:3]]
    found = diagnosed(case | {"out_of_reach": barred})
    left_out = {(r["point"], r["state"]) for r in barred}
    assert not left_out & {(r.point, r.state) for r in found.next_readings}
    assert {(r.point, r.state) for r in found.worth_reaching} <= left_out
    assert not (found.next_readings and found.worth_reaching)


@SOME
@given(
    st.integers(0, 40),
    st.sampled_from(["start_battery_voltage", "charger_output_voltage", "vehicle_feed_drop"]),
    st.floats(-2.0, 3.0),
)
def test_all_as_it_should_be_never_leads_beside_a_verdict_out_of_range(
    seed: int, point: str, shift: float
) -> None:
    # Whatever one reading is moved by: either it is suspected, or what accounts for it is said.
    case = json.loads(sheet(seed))
    for reading in case["readings"]:
        if reading["point"] == point and reading["state"] == "idle":
            reading["value"] = round(reading["value"] + shift, 3)
    found = diagnosed(case)
    said = (*found.suspect_readings, *found.findings[0].accounts_for)
    settled = {(one.point, one.state) for one in said}
    out = [v for v in found.verdicts if v.verdict == "out_of_range"]
    leads = found.findings[0].probability > found.unexplained
    if leads and found.findings[0].faults == ("no_fault",):
        assert all((v.point, v.state) in settled for v in out)


@SOME
@given(st.integers(0, 40))
def test_a_reading_that_fits_every_hypothesis_changes_nothing(seed: int) -> None:
    # Nobody's fault moves the house battery's temperature but a cold lithium battery's.
    case = json.loads(sheet(seed))
    case["installation"]["house_battery"]["chemistry"] = "agm"
    place = ("house_battery_temperature", "idle")
    readings = [r for r in case["readings"] if (r["point"], r["state"]) != place]
    warm = {"point": place[0], "state": place[1], "value": 20.0}
    without = diagnosed(case | {"readings": readings}).marginals
    with_it = diagnosed(case | {"readings": [*readings, warm]}).marginals
    # Which of two hopeless answers is kept as a rival may turn on the last digit.
    assert with_it == pytest.approx(without, abs=1e-3)


FINE = {
    "voltage_accuracy_percent": 0.3,
    "voltage_counts": 1,
    "voltage_resolution_v": 0.01,
    "current_accuracy_percent": 1.5,
    "current_zero_a": 0.2,
    "current_resolution_a": 0.1,
}
COARSE = FINE | {
    "voltage_accuracy_percent": 3.0,
    "voltage_counts": 30,
    "current_accuracy_percent": 10.0,
    "current_zero_a": 3.0,
}


def with_meter(seed: int, meter: dict) -> logic.Diagnosis:
    case = json.loads(sheet(seed))
    return diagnosed(case | {"installation": case["installation"] | {"meter": meter}})


def test_a_worse_meter_never_makes_answers_surer() -> None:
    # Of a single sheet this cannot be asked: a fine meter may see a hint of a second fault
    # that a coarse one misses. It must hold on the whole, and of every sure answer.
    pairs = [(with_meter(seed, FINE), with_meter(seed, COARSE)) for seed in range(12)]
    first = [fine.findings[0] for fine, _ in pairs]
    same = [
        sum(f.probability for f in coarse.findings if f.faults == one.faults)
        for one, (_, coarse) in zip(first, pairs, strict=True)
    ]
    assert sum(same) <= sum(one.probability for one in first)
    sure = [(one, now) for one, now in zip(first, same, strict=True) if one.probability > 0.9]
    assert sure
    assert all(now <= one.probability + 0.01 for one, now in sure)


@SOME
@given(st.integers(0, 40), st.lists(st.booleans(), min_size=30, max_size=30))
def test_figures_that_evidence_holds_against_each_other_differ_as_written(
    seed: int, keep: list[bool]
) -> None:
    found = diagnosed(some_readings(json.loads(sheet(seed)), keep))
    for finding in found.findings:
        for one in finding.evidence:
            if not isinstance(one, ReadingEvidence) or one.expected is None:
                continue
            if one.kind == "against":
                beside = one.value
            elif one.expected_under_rival is not None:
                beside = one.expected_under_rival
            else:
                continue
            assert worked_out(one.point, one.expected) != worked_out(one.point, beside), one.text
