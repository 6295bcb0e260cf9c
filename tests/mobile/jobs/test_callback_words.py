import pytest

from logic.case import Diagnosis, Exclusion, Finding, ReadingEvidence
from logic.diagnosis.catalogue import faults as catalogue_entries
from logic.diagnosis.catalogue import titles
from logic.limits.then_and_now import Comparison
from logic.vehicle.points import Point, State
from logic.words.names import RESPONSIBILITIES
from mobile.jobs import callback_words


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


def test_a_change_within_the_meter_is_none():
    assert callback_words.change(change_of(weight=0.4))[1] == "in_range"


@pytest.mark.parametrize("fault", catalogue_entries())
def test_every_fault_can_be_shown_with_what_to_do_and_whose_matter_it_is(fault):
    [view] = callback_words.findings(found(((fault,), 0.9)))
    assert view.title
    assert view.faults[0].remedy
    assert view.faults[0].customer
    assert view.faults[0].responsibility in RESPONSIBILITIES
