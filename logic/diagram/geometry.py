"""Positions and rectangles as plain data, so that a layout is proved without a window."""

from dataclasses import dataclass

XY = tuple[float, float]


@dataclass(frozen=True)
class Rect:
    """A rectangle by its lower left corner; y grows upwards."""

    x: float
    y: float
    width: float
    height: float

    @classmethod
    def around(cls, centre: XY, width: float, height: float) -> "Rect":
        """Return the rectangle of this size around a position.

        Parameters
        ----------
        centre, width, height : unit
        """
        return cls(centre[0] - width / 2, centre[1] - height / 2, width, height)

    @classmethod
    def between(cls, left: float, bottom: float, right: float, top: float) -> "Rect":
        """Return the rectangle between four edges.

        Parameters
        ----------
        left, bottom, right, top : unit
        """
        return cls(left, bottom, right - left, top - bottom)

    @property
    def right(self) -> float:
        """The right edge."""
        return self.x + self.width

    @property
    def top(self) -> float:
        """The upper edge."""
        return self.y + self.height

    @property
    def centre(self) -> XY:
        """The middle."""
        return self.x + self.width / 2, self.y + self.height / 2

    def inset(self, across: float, along: float) -> "Rect":
        """Return the rectangle so much inside this one, to the sides and from top and bottom."""
        return Rect.between(self.x + across, self.y + along, self.right - across, self.top - along)

    def holds(self, xy: XY) -> bool:
        """Tell whether a position lies inside."""
        return self.x <= xy[0] <= self.right and self.y <= xy[1] <= self.top

    def meets(self, other: "Rect") -> bool:
        """Tell whether two rectangles overlap by more than a hair."""
        hair = 0.01
        return (
            self.x < other.right - hair
            and other.x < self.right - hair
            and self.y < other.top - hair
            and other.y < self.top - hair
        )
