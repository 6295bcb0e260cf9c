"""A quantity before it is read: its middle and its standard spread."""

from typing import NamedTuple, Self


class Estimate(NamedTuple):
    """Mean and standard spread (k = 1), in the quantity's own unit.

    Where a field says *ln*, ``mean`` is the median in the quantity's own unit and ``spread``
    the standard deviation of its natural logarithm.
    """

    mean: float
    spread: float

    def times(self, factor: float) -> Self:
        """Return the estimate with both numbers multiplied by a factor (1).

        Parameters
        ----------
        factor : 1
        """
        return type(self)(self.mean * factor, self.spread * abs(factor))
