"""Which look goes with the light there is: dark at night, light under lamps and in the sun.

No Kivy. A bonnet's shadow or a headlamp that passes must not turn the screen while a reading is
typed: between the two thresholds, and until the light has stayed, the look stays.
"""

from mobile.jobs.own_choices import Look

# Assumed, lx: under the lower one there is at most street light, over the upper one a lamp at work.
DARK_UNDER, LIGHT_OVER = 15.0, 60.0
STAYS = 3.0
"""Seconds that the light must have stayed so (assumed)."""


class LookByLight:
    """Takes what the sensor says, and says when the look is to change."""

    def __init__(self) -> None:
        self._wanted: Look | None = None
        self._since = 0.0
        self._given: Look | None = None

    def seen(self, light: float, now: float) -> None:
        """Take how bright it is.

        Parameters
        ----------
        light : lx
        now : s
            On a clock that only goes on.
        """
        wanted = Look.DARK if light < DARK_UNDER else Look.LIGHT if light > LIGHT_OVER else None
        if wanted is not self._wanted:
            self._wanted, self._since = wanted, now

    def due(self, now: float) -> Look | None:
        """Return the look to change to, once; ``None`` where it is to stay.

        Parameters
        ----------
        now : s
            On the same clock.
        """
        if self._wanted in (None, self._given):
            return None
        # The first one at once: whoever comes back at night is not to be dazzled meanwhile.
        if self._given is not None and now - self._since < STAYS:
            return None
        self._given = self._wanted
        return self._given
