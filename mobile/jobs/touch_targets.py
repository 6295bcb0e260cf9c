"""What a touch on the circuit means: two posts, a clamp's place or a part to a point. No Kivy."""

from logic.vehicle.points import Point, Post


def points_at(kind: str, place_id: str) -> tuple[Point, ...]:
    """List the points that a clamp's place or a part offers."""
    if kind == "clamp":
        return tuple(point for point in Point if point.clamp_on == place_id)
    return tuple(point for point in Point if point.part == place_id)


def point_between(one: Post | None, other: Post) -> Point | None:
    """Return the point read between two posts, in whichever order they were tapped."""
    wanted = {one, other}
    return next((point for point in Point if {point.red, point.black} == wanted), None)


def partners(post: Post) -> tuple[Post, ...]:
    """List the posts that a post can be read against."""
    others = (
        point.black if point.red is post else point.red
        for point in Point
        if post in (point.red, point.black)
    )
    return tuple(dict.fromkeys(other for other in others if other is not None))


def no_reading(one: Post | None, other: Post) -> str:
    """Say that nothing is judged between two posts, and which ones go with the second."""
    first = one.full_name if one is not None else ""
    fitting = [post.full_name for post in partners(other)]
    return (
        f"Between {first} and {other.full_name} nothing is judged. "
        f"{_capital(other.full_name)} goes with: {', '.join(fitting)}."
    )


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
