"""Fuses: the resistance they add to a run. What sizes them is in ``sizing``."""

from logic.circuit import tables
from logic.quantities import Ampere, Ohm


def fuse_resistance(rating_a: Ampere) -> Ohm:
    """Cold resistance of a fuse link.

    Parameters
    ----------
    rating_a : A
        As marked on it.

    Returns
    -------
    Ω
        Assumed: links lose about the same voltage at their rating whatever it is.
    """
    return tables.number("fuses", "fuse.cold_drop") / rating_a
