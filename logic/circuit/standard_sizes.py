"""What is sold: the smallest standard cable that does a job, and the fuse ratings.

Cable is given in both of the trade's ways, since either may be what the shop has on its reel.
"""

from collections.abc import Callable
from typing import NamedTuple

from logic.circuit import tables
from logic.circuit.conductors import area_of_awg
from logic.quantities import Ampere, SquareMillimetre
from logic.words.figures import square_millimetres, whole_amperes

GAUGES = ("18", "16", "14", "12", "10", "8", "6", "4", "2", "1", "1/0", "2/0", "3/0", "4/0")
"""The AWG sizes that vehicle cable is commonly sold in, thinnest first."""


class StandardCable(NamedTuple):
    """The smallest cable of each system that does a job; None where none of it does."""

    area_mm2: SquareMillimetre | None
    gauge: str | None

    @property
    def words(self) -> str:
        """Both sizes: "16 mm² or 4 AWG"; "" where no standard cable does."""
        millimetres = "" if self.area_mm2 is None else square_millimetres(self.area_mm2)
        gauge = "" if self.gauge is None else f"{self.gauge} AWG"
        return " or ".join(text for text in (millimetres, gauge) if text)


def smallest_cable(does: Callable[[SquareMillimetre], bool]) -> StandardCable:
    """Return the smallest standard sizes that do a job.

    Parameters
    ----------
    does
        Tells whether this much copper, mm², does it.

    References
    ----------
    IEC 60228 nominal areas; ASTM B258 gauges.
    """
    areas = (area for area, _ in tables.row("conductors", "iec_60228.class_5").points)
    return StandardCable(
        next((area for area in areas if does(area)), None),
        next((gauge for gauge in GAUGES if does(area_of_awg(gauge))), None),
    )


def fuse_ratings() -> tuple[Ampere, ...]:
    """Return the ratings, A, of 20 A and more, in which links are sold, smallest first."""
    return tuple(rating for rating, _ in tables.row("fuses", "rule.sold").points)


def smallest_fuse(least_a: Ampere) -> Ampere | None:
    """Return the smallest link sold of a rating or more.

    Parameters
    ----------
    least_a : A

    Returns
    -------
    A
        None where none that large is sold.
    """
    return next((rating for rating in fuse_ratings() if rating >= least_a - 1e-9), None)


def greatest_fuse_under(most_a: Ampere) -> Ampere | None:
    """Return the largest link sold that is not over a current.

    Parameters
    ----------
    most_a : A

    Returns
    -------
    A
        None where even the smallest is over it.
    """
    return next((one for one in reversed(fuse_ratings()) if one <= most_a + 1e-9), None)


def fuse_words(rating_a: Ampere | None, otherwise: Ampere) -> str:
    """Write a rating that is sold, or the current asked for where none is.

    Parameters
    ----------
    rating_a : A
    otherwise : A
    """
    return whole_amperes(otherwise if rating_a is None else rating_a)
