import calendar
from datetime import UTC, datetime, timedelta, timezone

import pytest

from logic.words.dates import countdown, day, day_and_time, moment, span


def test_months_are_said_in_one_language_whatever_the_locale():
    assert [day(datetime(2026, month, 9)) for month in range(1, 13)] == [
        f"9 {name} 2026" for name in calendar.month_name[1:]
    ]


@pytest.mark.parametrize(
    ("zone", "words"),
    [
        (UTC, "UTC+00:00"),
        (timezone(timedelta(hours=9.5)), "UTC+09:30"),
        (timezone(-timedelta(hours=3)), "UTC−03:00"),
        (None, "zone not known"),
    ],
)
def test_a_moment_names_its_own_zone(zone, words):
    when = datetime(2026, 3, 2, 8, 5, tzinfo=zone)
    assert moment(when) == f"2 March 2026, 08:05 ({words})"
    assert day_and_time(when) == "2 March 2026, 08:05"


@pytest.mark.parametrize(
    ("seconds", "words"),
    [(0, "0 s"), (45.4, "45 s"), (60, "1 min"), (330, "5 min 30 s"), (-3, "0 s")],
)
def test_a_span_of_time_is_said_to_the_second(seconds, words):
    assert span(seconds) == words


@pytest.mark.parametrize(
    ("seconds", "shown"), [(0, "0:00"), (9.6, "0:10"), (245, "4:05"), (-2, "0:00")]
)
def test_a_countdown_is_shown_as_on_a_clock(seconds, shown):
    assert countdown(seconds) == shown
