"""What a reading costs in minutes: what costs is reach, and the next post under the probe is free.

A reading's own time is seconds.  Getting to its posts takes a walk round the vehicle and a cover
or a seat that comes off; a drop whose ends lie in two places needs a long fused lead; a state
needs the engine started or the vehicle rested; fast idle needs a second person.  Where the parts
sit is in the installation's description.

All minutes are assumed: common practice, no published source.
"""

from collections.abc import Collection

from logic.quantities import Minute
from logic.vehicle.installation import Installation, Location
from logic.vehicle.points import Part, Point, Post, ReadingKey, State

# To set the probes or the clamp, read twice, type it in and see what it changed.
_READ = 1.8
# To place the clamp on a conductor, to find a setting in the unit's manual, to unplug a panel.
_CLAMP, _LOOK_UP, _UNPLUG = 0.3, 1.0, 1.0
# To walk to another place on the vehicle, and to get at the posts there for the first time.
_WALK, _UNCOVER = 0.5, 1.0
# A lead from one place to another: the first time, and once it lies there.
_LONG_LEAD, _LEAD_LIES = 2.5, 0.5
# A second person for the engine speed.
_HELPER = 1.0

_BY_POST = {
    Post.START_BATTERY_POSITIVE: "start_battery",
    Post.START_BATTERY_NEGATIVE: "start_battery",
    Post.HOUSE_BATTERY_POSITIVE: "house_battery",
    Post.HOUSE_BATTERY_NEGATIVE: "house_battery",
}
_BY_PART = {
    Part.START_BATTERY: "start_battery",
    Part.HOUSE_BATTERY: "house_battery",
    Part.HOUSE_LOADS: "house_battery",
}


def minutes(
    key: ReadingKey, taken: Collection[ReadingKey], installation: Installation | None = None
) -> Minute:
    """Return what one reading costs after those already taken.

    Parameters
    ----------
    key
        The reading.
    taken
        What has been read; the places where it was read are open and the leads lie there.
    installation
        Where the parts sit; without it each sits in a place of its own.

    Returns
    -------
    min
    """
    return _own(key.point) + _way(key, taken, installation) + _state(key, taken)


def _own(point: Point) -> Minute:
    if point.clamp_on is not None:
        return _READ + _CLAMP
    if point is Point.PROFILE_SETTING_VOLTAGE:
        return _READ + _LOOK_UP
    return _READ + (_UNPLUG if point is Point.SOLAR_OPEN_CIRCUIT_VOLTAGE else 0.0)


def _way(
    key: ReadingKey, taken: Collection[ReadingKey], installation: Installation | None
) -> Minute:
    wanted = places(key.point, installation)
    seen = [places(other.point, installation) for other in taken]
    open_places = frozenset[str]().union(*seen)
    cost = sum(_WALK + _UNCOVER for _ in wanted - open_places)
    if len(wanted) > 1:
        cost += _LEAD_LIES if wanted in seen else _LONG_LEAD
    return cost


def places(point: Point, installation: Installation | None) -> frozenset[str]:
    """Return the places on the vehicle at which a reading is taken: two for a long drop."""
    posts = [post for post in (point.red, point.black) if post is not None]
    parts = {_BY_POST.get(post, "charger") for post in posts}
    if not posts:
        clamped = point.clamp_on if isinstance(point.clamp_on, Part) else point.part
        parts = {_BY_PART.get(clamped, "charger") if clamped is not None else "charger"}
    return frozenset(_place(part, installation) for part in parts)


def _place(part: str, installation: Installation | None) -> str:
    if installation is None:
        return part
    charger = installation.location
    where = {
        "start_battery": Location.ENGINE_BAY,
        "charger": charger,
        # A house battery whose place nobody gave is taken to sit beside its charger.
        "house_battery": installation.house_battery.location or charger,
    }[part]
    return where.value if where is not None else part


def _state(key: ReadingKey, taken: Collection[ReadingKey]) -> Minute:
    point, state = key
    if state is State.REST and point.key_off_minutes is not None:
        return point.key_off_minutes
    states = {one.state for one in taken}
    # The engine has warmed everything up since a resting vehicle could be read at once.
    no_longer_rested = state is State.REST and any(one.engine_runs for one in states)
    again = state in states or no_longer_rested
    helper = _HELPER if state is State.FAST_IDLE else 0.0
    return helper + (state.minutes_again if again else state.minutes_first)
