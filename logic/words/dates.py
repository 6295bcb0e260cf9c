"""Dates, moments and spans of time in words."""

from datetime import datetime

from logic.words.figures import MINUS

_MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)


def day(when: datetime) -> str:
    """Write a date, the month in letters so that no two countries read it differently."""
    # Not strftime's %B: that writes in whatever language the process was set to.
    return f"{when.day} {_MONTHS[when.month - 1]} {when.year:04d}"


def day_and_time(when: datetime) -> str:
    """Write a date and a time where the zone is the phone's own."""
    return f"{day(when)}, {when:%H:%M}"


def moment(when: datetime) -> str:
    """Write a date and time with its own zone."""
    offset = when.strftime("%z")
    zone = f"UTC{offset[:3]}:{offset[3:5]}".replace("-", MINUS) if offset else "zone not known"
    return f"{day_and_time(when)} ({zone})"


def span(seconds: float) -> str:
    """Say a time span in minutes and seconds: "5 min 30 s".

    Parameters
    ----------
    seconds : s
    """
    minutes, rest = divmod(max(0, round(seconds)), 60)
    parts = [f"{minutes} min"] if minutes else []
    return " ".join([*parts, f"{rest} s"] if rest or not parts else parts)


def countdown(seconds: float) -> str:
    """Write a waiting time as a clock does: "4:05".

    Parameters
    ----------
    seconds : s
    """
    whole = max(0, round(seconds))
    return f"{whole // 60}:{whole % 60:02d}"
