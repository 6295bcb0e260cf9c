"""What a touch on the circuit means: two posts, a clamp's lead or a part to a point. No Kivy."""

from collections.abc import Sequence

from logic.diagram.layout import Target
from logic.diagram.picture import partners
from logic.vehicle.installation import Installation
from logic.vehicle.points import Point, Post, State


def points_at(target: Target, fitted: Installation, state: State) -> tuple[Point, ...]:
    """List the points that a clamp's lead or a part offers: those fitted that it is a time for."""
    here = [point for point in Point if point.exists_on(fitted)]
    if target.kind == "clamp":
        clamped = [point for point in here if point.clamp_on is target.what]
        return tuple(point for point in clamped if _is_meant(point, state, clamped))
    return tuple(point for point in here if point.part is target.what)


def _is_meant(point: Point, state: State, clamped: Sequence[Point]) -> bool:
    """Whether a clamp means a point: the plain current, and one read once in its own state.

    The others are read in a condition that the walk brings about.
    """
    if point.same_in_every_state:
        return state in point.states
    return point is next(one for one in clamped if not one.same_in_every_state)


def point_between(one: Post | None, other: Post) -> Point | None:
    """Return the point read between two posts, in whichever order they were touched.

    Of several, the plain one: the others are read in a condition that the walk brings about.
    """
    return next((point for point in Point if {point.red, point.black} == {one, other}), None)


def no_reading(one: Post, other: Post) -> str:
    """Say that nothing is judged between two posts, and which ones go with the second."""
    fitting = ", ".join(post.full_name for post in partners(other))
    name = other.full_name
    return (
        f"Between {one.full_name} and {name} nothing is judged. "
        f"{name[:1].upper()}{name[1:]} goes with: {fitting}."
    )
