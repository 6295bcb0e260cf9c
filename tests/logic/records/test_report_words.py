from datetime import datetime

import pytest

from logic.checklist.answers import ReadingAnswer
from logic.records.words import answer, day, limits, measure, uncertainty
from tests.logic.records.sample_records import judged, reading


@pytest.mark.parametrize(
    ("verdict", "shown"),
    [
        (judged("fault_indicator", "idle", 0, (0, 0)), ("not lit", "not lit", "–")),
        (judged("input_current", "idle", -0.0, (-1, 1)), ("0 A", "−1.0 to 1.0 A", "± 0.012 A")),
        (judged("house_feed_drop", "idle", -0.118, (None, 0.2)), ("−0.118 V", "≤ 0.200 V", None)),
        (judged("charger_case_temperature", "idle", 41, (0, None)), ("41 °C", "≥ 0.0 °C", None)),
    ],
)
def test_values_limits_and_uncertainty_are_said_with_sign_and_unit(verdict, shown):
    said = (measure(verdict.point, verdict.value), limits(verdict), uncertainty(verdict))
    for expected, found in zip(shown, said, strict=True):
        assert expected in (found, None)


# JCGM 100, 7.2.6: at most two figures of an uncertainty.
@pytest.mark.parametrize(
    ("raw", "shown"),
    [(0.0999, "± 0.10 V"), (0.1, "± 0.10 V"), (1.234, "± 1.2 V"), (12.7, "± 13 V")],
)
def test_an_uncertainty_keeps_two_figures(raw, shown):
    verdict = judged("charger_input_voltage", "idle", 13, (None, None))
    assert uncertainty(verdict.model_copy(update={"uncertainty": raw})) == shown


@pytest.mark.parametrize(
    ("typed", "shown"),
    [("13.90", "13.90 V"), ("13,90", "13.90 V"), ("250", "13.9 V"), ("", "13.9 V")],
)
def test_a_reading_is_shown_in_the_digits_that_were_typed(typed, shown):
    verdict = judged("charger_input_voltage", "idle", 13.9, (None, None))
    step = reading("engine_idle", "Input", verdict, answer=ReadingAnswer(value=13.9, typed=typed))
    assert answer(step) == shown


def test_months_are_said_in_one_language_whatever_the_locale():
    import calendar

    assert [day(datetime(2026, month, 9)) for month in range(1, 13)] == [
        f"9 {name} 2026" for name in calendar.month_name[1:]
    ]
