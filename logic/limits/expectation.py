"""What a reading should be: a low, a high, and why, with numbers.

Limits depend on what is fitted and on what was already read, not on how good the meter is: its
part is carried along as ``uncertainty`` and meets the reading in :mod:`logic.limits.verdict`.
"""

import math
from dataclasses import dataclass, replace

from logic.quantities import Ampere


@dataclass(frozen=True, kw_only=True)
class Expectation:
    """What a reading should be."""

    low: float | None = None
    """Least that is right; ``None`` for no such limit."""
    high: float | None = None
    """Most that is right."""
    why: str
    """The reason with its numbers, without a full stop at its end."""
    current_a: Ampere | None = None
    """What flowed while a drop was read, where it is known."""
    uncertainty: float = 0.0
    """Standard (k = 1), of the meter, in the readings that the limits were worked out from."""
    reference: float | None = None
    """A reading that both limits depend on: one meter's gain error cancels in the difference."""
    under: str = ""
    """What to look at where a reading is out of range on the low side."""
    over: str = ""
    """What to look at where it is on the high side."""
    proves_nothing: str = ""
    """Why a value that is right proves nothing yet, and what to do; "" where it does."""
    proves_from: float = math.inf
    """From this value up it proves something all the same."""
    likely: float | None = None
    """What it most likely shows: ``{off}`` in a hint is how far a value is from it."""
    or_up_to: float | None = None
    """Under ``low``, values up to this are right as well: in a condition that the readings leave
    possible, such as float. What lies between is right in neither."""
    or_why: str = ""
    """The reason for that."""

    def of_value(self, value: float) -> "Expectation":
        """Return the limits that a value is nearer to, where there are two sets of them.

        Over the lower set it is still under the upper one, and the hint for that is the right one.
        """
        if self.or_up_to is None or self.low is None or value > (self.or_up_to + self.low) / 2:
            return self
        return replace(
            self, low=None, high=self.or_up_to, why=self.or_why, over=self.under or self.over
        )

    @property
    def is_open(self) -> bool:
        """Whether there is no limit at all."""
        return self.low is None and self.high is None
