"""The phones that the screens are looked over on: two sizes, two font scales."""

import itertools
from dataclasses import dataclass

from mobile.ui import toolkit


@dataclass(frozen=True)
class Look:
    """A phone's screen and its owner's font scale."""

    screen: toolkit.Screen = toolkit.SMALL_PHONE
    font_scale: float = 1.0

    def __str__(self) -> str:
        return f"{self.screen.width}x{self.screen.height}-font{self.font_scale}"


LOOKS = [
    Look(screen, scale)
    for screen, scale in itertools.product((toolkit.SMALL_PHONE, toolkit.LARGE_PHONE), (1.0, 1.3))
]


def take_on(look: Look) -> None:
    """Make Kivy's window look like this phone."""
    from kivy.core.window import Window
    from kivy.metrics import Metrics

    Metrics.density = look.screen.density
    Metrics.fontscale = look.font_scale
    Window.size = (
        round(look.screen.width * look.screen.density),
        round(look.screen.height * look.screen.density),
    )
