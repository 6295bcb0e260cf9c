"""The circuit's picture as plain data: where everything lies in a square of 0 to 1, y upwards.

Always the same picture, so that the eye learns it: start battery left, charger in the middle,
house battery right, feeds above, returns below, signal and panel over the charger, loads over
the house battery. What is not fitted is left out and nothing else moves.
"""

from dataclasses import dataclass

from logic.vehicle.points import Post, Run

Place = tuple[float, float]

HOUSE_LOADS = "house_loads"


@dataclass(frozen=True)
class Box:
    """A part with its name; ``x, y`` is its lower left corner."""

    part: str
    words: str
    x: float
    y: float
    width: float
    height: float

    @property
    def words_at(self) -> Place:
        """Where the name stands: the middle, lower in a high box, under its posts' signs."""
        lower = max(0.0, (self.height - 0.3) / 2)
        return self.x + self.width / 2, self.y + self.height / 2 - lower


@dataclass(frozen=True)
class Wire:
    """A conductor as a chain of places, in the direction of its current."""

    run: str
    places: tuple[Place, ...]
    fuse: Place | None = None


@dataclass(frozen=True)
class PlacedPost:
    """A post, and where the flag of a probe on it stands clear of everything else."""

    at: Place
    flag: Place
    sign: str = ""
    sign_at: Place = (0.0, 0.0)


@dataclass(frozen=True)
class ClampPlace:
    """Where a clamp goes round a run, and the way its arrow points when current is positive."""

    at: Place
    towards: Place


@dataclass(frozen=True)
class Plan:
    """Everything to draw."""

    boxes: tuple[Box, ...]
    wires: tuple[Wire, ...]
    posts: dict[Post, PlacedPost]
    clamps: dict[str, ClampPlace]
    earths: tuple[Place, ...] = ()


_START = Box("start_battery", "Start\nbattery", 0.0, 0.33, 0.2, 0.33)
_CHARGER = Box("charger", "Charger", 0.4, 0.33, 0.2, 0.42)
_HOUSE = Box("house_battery", "House\nbattery", 0.8, 0.33, 0.2, 0.33)
_SIGNAL = Box("ignition_source", "Ignition", 0.13, 0.84, 0.19, 0.15)
_PANEL = Box("solar_panel", "Panel", 0.635, 0.84, 0.16, 0.15)
_LOADS = Box("house_loads", "Loads", 0.83, 0.84, 0.17, 0.15)

_FEED = 0.6
_BUS = 0.1

_WIRES = (
    Wire(Run.VEHICLE_FEED, ((0.2, _FEED), (0.4, _FEED)), fuse=(0.25, _FEED)),
    Wire(Run.VEHICLE_RETURN, ((0.5, 0.33), (0.5, _BUS), (0.1, _BUS), (0.1, 0.33))),
    Wire(Run.HOUSE_FEED, ((0.6, _FEED), (0.8, _FEED)), fuse=(0.75, _FEED)),
    Wire(Run.HOUSE_RETURN, ((0.9, 0.33), (0.9, _BUS), (0.5, _BUS))),
    Wire("ignition_signal", ((0.32, 0.915), (0.445, 0.915), (0.445, 0.75))),
    Wire(HOUSE_LOADS, ((0.915, 0.66), (0.915, 0.84))),
)
_SOLAR_WIRES = (
    Wire(Run.SOLAR_FEED, ((0.635, 0.915), (0.53, 0.915), (0.53, 0.75))),
    Wire("solar_return", ((0.76, 0.84), (0.76, 0.79))),
)
_POSTS = {
    Post.START_BATTERY_POSITIVE: PlacedPost((0.2, _FEED), (0.26, 0.41), "+", (0.178, 0.615)),
    Post.START_BATTERY_NEGATIVE: PlacedPost((0.1, 0.33), (0.2, 0.21), "−", (0.07, 0.27)),
    Post.CHARGER_INPUT: PlacedPost((0.4, _FEED), (0.345, 0.41), "in", (0.43, 0.61)),
    Post.CHARGER_NEGATIVE: PlacedPost((0.5, 0.33), (0.6, 0.21), "−", (0.47, 0.27)),
    Post.CHARGER_OUTPUT: PlacedPost((0.6, _FEED), (0.655, 0.41), "out", (0.562, 0.61)),
    Post.IGNITION_TERMINAL: PlacedPost((0.445, 0.75), (0.36, 0.79)),
    Post.HOUSE_BATTERY_POSITIVE: PlacedPost((0.8, _FEED), (0.74, 0.41), "+", (0.822, 0.615)),
    Post.HOUSE_BATTERY_NEGATIVE: PlacedPost((0.9, 0.33), (0.8, 0.21), "−", (0.93, 0.27)),
}
_SOLAR_POSTS = {
    Post.SOLAR_TERMINAL: PlacedPost((0.53, 0.75), (0.645, 0.745)),
    Post.PANEL_LEAD_POSITIVE: PlacedPost((0.635, 0.915), (0.587, 0.845)),
    Post.PANEL_LEAD_NEGATIVE: PlacedPost((0.76, 0.84), (0.685, 0.74)),
}
_CLAMPS = {
    Run.VEHICLE_FEED: ClampPlace((0.335, _FEED), (1.0, 0.0)),
    Run.HOUSE_FEED: ClampPlace((0.665, _FEED), (1.0, 0.0)),
    HOUSE_LOADS: ClampPlace((0.915, 0.75), (0.0, 1.0)),
}
_SOLAR_CLAMPS = {Run.SOLAR_FEED: ClampPlace((0.585, 0.915), (-1.0, 0.0))}


def plan(*, solar: bool = True) -> Plan:
    """Lay the circuit out; without ``solar`` the panel and its leads are left out."""
    boxes = (_START, _CHARGER, _HOUSE, _SIGNAL, _LOADS)
    if not solar:
        return Plan(boxes, _WIRES, dict(_POSTS), dict(_CLAMPS))
    return Plan(
        boxes=(*boxes, _PANEL),
        wires=(*_WIRES, *_SOLAR_WIRES),
        posts=_POSTS | _SOLAR_POSTS,
        clamps=_CLAMPS | _SOLAR_CLAMPS,
        earths=((0.76, 0.79),),
    )
