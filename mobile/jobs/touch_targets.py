"""What a touch on the circuit means: two posts, a clamp's place or a part to a point. No Kivy."""

from logic.vehicle.points import PROBES, Point, Post
from mobile.jobs.wording import POSTS

# What the parts themselves offer, beside their posts.
_AT_PART = {
    "start_battery": (Point.START_BATTERY_VOLTAGE,),
    "charger": (
        Point.CHARGER_CASE_TEMPERATURE,
        Point.PROFILE_SETTING_VOLTAGE,
        Point.CHARGING_INDICATOR,
        Point.FAULT_INDICATOR,
    ),
    "house_battery": (Point.HOUSE_BATTERY_VOLTAGE, Point.HOUSE_BATTERY_TEMPERATURE),
    "ignition_source": (Point.IGNITION_SIGNAL_VOLTAGE,),
    "house_loads": (Point.HOUSE_LOAD_CURRENT,),
    "solar_panel": (Point.SOLAR_OPEN_CIRCUIT_VOLTAGE, Point.SUNLIGHT_FRACTION),
}


def points_at(kind: str, place_id: str) -> tuple[Point, ...]:
    """List the points that a clamp's place or a part offers."""
    if kind == "clamp":
        return tuple(point for point, probe in PROBES.items() if probe.clamp_on == place_id)
    return _AT_PART.get(place_id, ())


def point_between(one: Post | None, other: Post) -> Point | None:
    """Return the point read between two posts, in whichever order they were tapped."""
    wanted = {one, other}
    found = (point for point, probe in PROBES.items() if {probe.red, probe.black} == wanted)
    return next(found, None)


def partners(post: Post) -> tuple[Post, ...]:
    """List the posts that a post can be read against."""
    pairs = [(probe.red, probe.black) for probe in PROBES.values()]
    return tuple(
        dict.fromkeys(
            other
            for red, black in pairs
            for other in ((black,) if red is post else (red,) if black is post else ())
            if other is not None
        )
    )


def no_reading(one: Post | None, other: Post) -> str:
    """Say that nothing is judged between two posts, and which ones go with the second."""
    first = POSTS[one] if one is not None else ""
    fitting = [POSTS[post] for post in partners(other)]
    return (
        f"Between {first} and {POSTS[other]} nothing is judged. "
        f"{_capital(POSTS[other])} goes with: {', '.join(fitting)}."
    )


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
