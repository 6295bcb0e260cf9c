"""What a touch on the circuit means: two posts, a clamp's lead or a part to a point. No Kivy."""

from logic.diagram.layout import Target
from logic.diagram.picture import partners
from logic.vehicle.points import Point, Post


def points_at(target: Target) -> tuple[Point, ...]:
    """List the points that a clamp's lead or a part offers."""
    if target.kind == "clamp":
        return tuple(point for point in Point if point.clamp_on is target.what)
    return tuple(point for point in Point if point.part is target.what)


def point_between(one: Post | None, other: Post) -> Point | None:
    """Return the point read between two posts, in whichever order they were touched."""
    return next((point for point in Point if {point.red, point.black} == {one, other}), None)


def no_reading(one: Post, other: Post) -> str:
    """Say that nothing is judged between two posts, and which ones go with the second."""
    fitting = ", ".join(post.full_name for post in partners(other))
    name = other.full_name
    return (
        f"Between {one.full_name} and {name} nothing is judged. "
        f"{name[:1].upper()}{name[1:]} goes with: {fitting}."
    )
