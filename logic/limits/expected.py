"""The shape of an expectation, apart from the physics that fills it."""

from dataclasses import dataclass

from logic.quantities import Ampere


@dataclass(frozen=True)
class Expectation:
    """What a reading should be; ``low`` or ``high`` is ``None`` where there is no limit.

    ``why`` carries the numbers and ends without a full stop. ``current_a`` is the current that
    flowed while a drop was read, where it is known. ``inherited`` is the standard uncertainty
    (k = 1) that the readings behind the limits bring in, in the point's unit. ``reference`` is
    a value taken with the same meter that both limits lean on: its gain error is in both, and
    cancels in their difference. ``under`` and ``over`` say what to look at where a reading is
    out of range on that side.
    """

    low: float | None
    high: float | None
    why: str
    current_a: Ampere | None = None
    inherited: float = 0.0
    reference: float | None = None
    under: str = ""
    over: str = ""
