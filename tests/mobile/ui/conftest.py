"""A simulated phone: an offscreen window, the app on a fresh store, a finger.

``phone`` starts on the small screen at font scale 1.0; a test asks for another by
``@pytest.mark.parametrize("phone", [...], indirect=True)`` with a :class:`Look`, or takes
``make_phone`` to start the app itself (twice, on a store that is there already, ...).
An unforeseen error that the app caught fails the test, unless it is marked ``trouble``.
"""

from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import pytest

from mobile.ui import toolkit
from tests.mobile.ui.looks import Look, take_on
from tests.mobile.ui.pictures import choose_graphics
from tests.paths import CHECKLISTS

# Importing anything of Kivy's opens its window: the surroundings must stand before that.
choose_graphics()
# The window is made large: the offscreen driver can shrink it, not let it grow.
toolkit.prepare(toolkit.LARGE_PHONE, offscreen=True, own_home=True)

SMALL = Look()


@pytest.fixture
def make_phone(tmp_path: Path, request: pytest.FixtureRequest) -> Iterator[Callable[..., Any]]:
    from mobile.demo.finger import finger_on
    from mobile.ui.app import build_app

    with ExitStack() as held:

        def make(look: Look = SMALL, store: Path = tmp_path / "store", **options: Any) -> Any:
            held.close()
            take_on(look)
            return held.enter_context(finger_on(build_app(store, CHECKLISTS, **options)))

        yield make
    kept = [path.read_text() for path in tmp_path.glob("**/trouble-*.txt")]
    assert not kept or request.node.get_closest_marker("trouble"), "\n".join(kept)


@pytest.fixture
def phone(make_phone: Callable[..., Any], request: pytest.FixtureRequest) -> Any:
    return make_phone(getattr(request, "param", SMALL))


@pytest.fixture(scope="module")
def demo_store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the demo's vehicles in a store: a module's tests share it, or copy it."""
    from tests.mobile.ui.workshop import fill

    folder = tmp_path_factory.mktemp("demo")
    fill(folder)
    return folder
