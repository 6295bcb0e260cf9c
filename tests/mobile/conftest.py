"""A simulated phone: an offscreen window, the app on a fresh store, a finger.

``phone`` starts on the small screen at font scale 1.0; a test asks for another by
``@pytest.mark.parametrize("phone", [...], indirect=True)`` with a :class:`Look`, or takes
``make_phone`` to start the app itself (twice, on a store that is there already, ...).
An unforeseen error that the app caught fails the test, unless it is marked ``trouble``.
"""

import itertools
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from pictures import choose_graphics

from mobile.ui import toolkit

# Importing anything of Kivy's opens its window: the surroundings must stand before that.
choose_graphics()
# The window is made large: the offscreen driver can shrink it, not let it grow.
toolkit.prepare(toolkit.LARGE_PHONE, offscreen=True, own_home=True)

CHECKLISTS = Path(__file__).resolve().parents[2] / "checklists"


@dataclass(frozen=True)
class Look:
    """A phone's screen and its owner's font scale."""

    screen: toolkit.Screen = toolkit.SMALL_PHONE
    font_scale: float = 1.0

    def __str__(self) -> str:
        return f"{self.screen.width}x{self.screen.height}-font{self.font_scale}"


PLAIN = Look()
LOOKS = [
    Look(screen, scale)
    for screen, scale in itertools.product((toolkit.SMALL_PHONE, toolkit.LARGE_PHONE), (1.0, 1.3))
]


def take_on(look: Look) -> None:
    from kivy.core.window import Window
    from kivy.metrics import Metrics

    Metrics.density = look.screen.density
    Metrics.fontscale = look.font_scale
    Window.size = (
        round(look.screen.width * look.screen.density),
        round(look.screen.height * look.screen.density),
    )


def pytest_configure(config: pytest.Config) -> None:
    config.addinivalue_line("markers", "trouble: an unforeseen error is part of the test")


@pytest.fixture
def make_phone(tmp_path: Path, request: pytest.FixtureRequest) -> Iterator[Callable[..., Any]]:
    from mobile.demo.finger import holding
    from mobile.ui.app import build_app

    with ExitStack() as held:

        def make(look: Look = PLAIN, store: Path = tmp_path / "store", **options: Any) -> Any:
            held.close()
            take_on(look)
            return held.enter_context(holding(build_app(store, CHECKLISTS, **options)))

        yield make
    kept = [path.read_text() for path in tmp_path.glob("**/trouble-*.txt")]
    assert not kept or request.node.get_closest_marker("trouble"), "\n".join(kept)


@pytest.fixture
def phone(make_phone: Callable[..., Any], request: pytest.FixtureRequest) -> Any:
    return make_phone(getattr(request, "param", PLAIN))
