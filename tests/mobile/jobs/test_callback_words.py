from types import SimpleNamespace

import pytest

from logic.case import Diagnosis, Exclusion, Finding, Judgement, ReadingEvidence
from logic.diagnosis.catalogue import faults as catalogue_entries
from logic.diagnosis.catalogue import titles
from logic.limits.then_and_now import Comparison
from logic.vehicle.points import Point, ReadingKey, State
from logic.words.names import RESPONSIBILITIES
from mobile.jobs import callback_words
from mobile.jobs.callback import WantedReading
from tests.diagnoses import (
    ACCOUNTED,
    FEED_DROP,
    HIDES,
    HOUSE_DROP,
    NOT_EXPLAINED,
    TO_CHECK,
    hiding,
    nothing_listed,
    sound_but_out_of_range,
)
from tests.diagnoses import diagnosis as by_hand


def found(*weighed, evidence=()):
    return Diagnosis(
        findings=tuple(
            Finding(faults=faults, probability=p, evidence=evidence) for faults, p in weighed
        ),
        marginals={},
        next_readings=(),
        suspect_readings=(),
        verdicts=(),
    )


@pytest.mark.parametrize(
    ("probability", "words", "percent"),
    [
        (0.9999, "Almost certain", "99 %"),
        (0.95, "Almost certain", "95 %"),
        (0.9496, "Almost certain", "95 %"),
        (0.944, "Very likely", "94 %"),
        (0.81, "Very likely", "81 %"),
        (0.5, "Likely", "50 %"),
        (0.3, "Possible", "30 %"),
        (0.004, "Unlikely", "1 %"),
    ],
)
def test_how_sure_is_said_in_words_and_never_as_a_false_certainty(probability, words, percent):
    [view] = callback_words.findings(found((("house_fuse_open",), probability)))
    assert (view.sure, view.percent) == (words, percent)


def test_hardly_possible_findings_are_left_out_but_never_all_of_them():
    many = [((fault,), 0.01) for fault in list(catalogue_entries())[:6]]
    assert len(callback_words.findings(found(*many))) == 1
    sure = [(("house_fuse_open",), 0.9), (("no_fault",), 0.001)]
    assert len(callback_words.findings(found(*sure))) == 1


def said(kind, text):
    return ReadingEvidence(
        kind=kind,
        point=Point.CHARGER_INPUT_VOLTAGE,
        state=State.IDLE,
        value=12.0,
        expected=12.0,
        rival=("no_fault",),
        expected_under_rival=None,
        text=text,
    )


def test_evidence_is_parted_into_for_against_and_ruled_out():
    evidence = (
        said("supports", "Fits."),
        said("against", "Against it: 12 V at the post."),
        Exclusion(faults=("house_battery_charged",), text="Ruled out: house battery nearly full."),
    )
    diagnosis = found((("house_fuse_open",), 0.9), evidence=evidence)
    [view] = callback_words.findings(diagnosis)
    assert view.evidence_for == ("Fits.",)
    assert view.evidence_against == ("Against it: 12 V at the post.",)
    assert callback_words.ruled_out(diagnosis) == "House battery nearly full."


def test_two_faults_together_are_named_together():
    faults = ("house_fuse_open", "vehicle_feed_resistive")
    words = titles(faults)
    assert words.startswith("Fuse or breaker open in the house feed and high resistance")


def change_of(**values):
    usual = {"then": 0.1, "now": 1.0, "expected_now": 0.1, "weight": 9.0}
    return Comparison(Point.VEHICLE_RETURN_DROP, State.IDLE, **usual | values)


def test_a_change_is_said_as_a_factor_per_ampere_where_the_currents_are_known():
    words, sign = callback_words.change(change_of(then_ohm=0.003, now_ohm=0.045))
    assert words == "15.0 times what it was, per ampere."
    assert sign == "out_of_range"


def test_a_change_that_the_day_explains_is_not_crossed():
    words, sign = callback_words.change(change_of(judgement=Judgement.IN_RANGE))
    assert sign == "no_limit"
    assert "right as things are today" in words
    assert callback_words.change(change_of(judgement=Judgement.MARGINAL))[1] == "marginal"
    assert callback_words.change(change_of(judgement=Judgement.OUT_OF_RANGE))[1] == "out_of_range"


def test_a_change_within_the_meter_is_none():
    assert callback_words.change(change_of(weight=0.4))[1] == "in_range"


@pytest.mark.parametrize("fault", catalogue_entries())
def test_every_fault_can_be_shown_with_what_to_do_and_whose_matter_it_is(fault):
    [view] = callback_words.findings(found(((fault,), 0.9)))
    assert view.title
    assert view.faults[0].remedy
    assert view.faults[0].customer
    assert view.faults[0].responsibility in RESPONSIBILITIES


def told(said, *, phase="before", checks=(), taken=(), beyond=()):
    """A callback as far as its words need one."""
    return SimpleNamespace(
        diagnosis=said,
        phase=phase,
        readings=("one",),
        check_readings=lambda: checks,
        value=lambda point, state: 1.0 if (point, state) in taken else None,
        job=SimpleNamespace(beyond_reach=dict.fromkeys(beyond), symptoms=()),
    )


def test_where_no_listed_fault_explains_the_readings_that_leads_with_what_to_check():
    first, second, third = callback_words.findings(nothing_listed(0.62))
    assert (first.title, first.sure, first.percent) == (
        "None of the listed faults",
        "Likely",
        "62 %",
    )
    assert first.not_explained == (NOT_EXPLAINED.text,)
    assert first.to_check == TO_CHECK
    assert first.faults == ()
    assert (second.percent, third.percent) == ("23 %", "15 %")


def test_where_it_is_not_the_likeliest_it_stands_at_its_place_from_a_tenth_on():
    weighed = (("vehicle_feed_resistive", 0.6), ("charger_output_limited", 0.15))
    shares = [view.percent for view in callback_words.findings(by_hand(*weighed, unexplained=0.2))]
    assert shares == ["60 %", "20 %", "15 %"]
    views = callback_words.findings(by_hand(*weighed, unexplained=0.09))
    assert [view.percent for view in views] == ["60 %", "15 %"]


def test_the_summary_says_plainly_that_no_listed_fault_explains_the_readings():
    leads, second = told(nothing_listed(0.62)), told(nothing_listed(0.3))
    assert callback_words.summary(leads) == (
        "None of the listed faults explains the readings: 62 %"
    )
    assert "None of the listed" not in callback_words.summary(second)


@pytest.mark.parametrize("unexplained", [0.15, 0.45, 0.6, 1.0])
def test_all_in_order_is_never_said_while_something_unlisted_may_be_behind_it(unexplained):
    said = by_hand(("no_fault", 0.4), unexplained=unexplained)
    words = callback_words.enough(told(said))
    assert "as it should be" not in words
    assert ("what to check" in words) is (unexplained > 0.4)
    sure = by_hand(("no_fault", 0.95), unexplained=0.03)
    assert "as it should be" in callback_words.enough(told(sure))


def test_a_diagnosis_without_any_finding_still_has_its_words():
    said = by_hand(unexplained=1.0)
    [view] = callback_words.findings(said)
    assert view.percent == "99 %"
    wanted = WantedReading(*FEED_DROP, "diagnosis", 1.0)
    assert callback_words.reason(told(said), wanted).startswith("Tells more than any other, ")
    assert "99 %" in callback_words.summary(told(said))


def test_what_a_fault_hides_is_said_with_it():
    [view] = callback_words.findings(hiding("vehicle_fuse_open"))
    assert view.hides == (HIDES[0].text,)


def test_what_accounts_for_a_reading_out_of_range_is_to_be_checked():
    [view] = callback_words.findings(sound_but_out_of_range())
    assert view.to_check == (ACCOUNTED.text,)


def test_a_reading_that_was_hidden_says_what_it_may_show_now():
    wanted = WantedReading(*HOUSE_DROP, "hidden", tells_apart=HIDES[0].faults)
    words = callback_words.reason(told(None, phase="after"), wanted)
    assert words == "A second fault here would not have shown before: house feed or house fuse."
    of_later = WantedReading(*HOUSE_DROP, "hidden", tells_apart=("not_known_here",))
    words = callback_words.reason(told(None, phase="after"), of_later)
    assert words == "A second fault here would not have shown before."


def test_proof_readings_out_of_reach_are_counted_apart():
    keys = tuple(ReadingKey(*key) for key in (FEED_DROP, HOUSE_DROP))
    usual = {"phase": "after", "checks": keys, "taken": keys[:1]}
    some, all_there = told(None, **usual, beyond=keys[1:]), told(None, **usual)
    assert callback_words.summary(all_there) == "1 of 2 proof readings taken"
    assert callback_words.summary(some) == "1 of 2 proof readings taken, 1 cannot be reached"
    assert "that can be reached" in callback_words.enough(some)
    assert "that can be reached" not in callback_words.enough(all_there)


def test_what_is_left_out_is_named_and_counted():
    assert callback_words.left_out(ReadingKey(*HOUSE_DROP)) == (
        "Left out: drop in the house feed, engine idling. To take that back: More."
    )
    assert callback_words.beyond_reach(told(None)) == ""
    assert callback_words.beyond_reach(told(None, beyond=[FEED_DROP])) == "1 reading out of reach"
