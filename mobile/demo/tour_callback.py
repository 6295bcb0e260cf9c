"""The tour's second job: the open callback, from its complaint to a cause that is proved."""

from collections.abc import Mapping
from typing import Any

from logic.vehicle.points import Point, State
from mobile.demo import stories
from mobile.demo.guide import Guide
from mobile.jobs.callback import SCREEN

Sheet = Mapping[str, Mapping[str, float]]

REPAIRED = "Return lug cleaned to bare metal and remade, own bolt"


def follow_a_callback(guide: Guide, plate: str) -> None:
    """Take the reading the screen asks for until it asks for none; repair; prove; close."""
    told = next(v for v in stories.invented()["vehicles"] if v["registration"] == plate)
    finger = guide.finger
    guide.open(plate)
    guide.picture("vehicle_called_back")
    finger.tap("Go on")
    _settle(guide)
    guide.picture("circuit")
    _follow(guide, told["today"], "reading_asked_for")
    guide.picture("circuit_at_its_answer")
    _look_round(guide)
    _put_right(guide)
    _follow(guide, told["readings"], "proof_asked_for")
    guide.picture("circuit_after_the_repair")
    finger.tap(_button(guide).text)
    guide.picture("closing")


def _settle(guide: Guide) -> None:
    finger = guide.finger

    def answered() -> bool:
        return finger.app.navigator.current == SCREEN and not guide.work.callback.is_thinking

    guide.wait_until(answered)
    finger.frames(4)


def _button(guide: Guide) -> Any:
    return guide.finger.app.navigator.page.ids.pane.children[0].ids.take


def _follow(guide: Guide, sheet: Sheet, picture: str) -> None:
    first = True
    while asked := _asked(guide):
        guide.finger.tap(_button(guide))
        if first:
            guide.picture(picture)
        point, state = asked
        guide.read(float(sheet[state][point]))
        guide.finger.tap("Save")
        _settle(guide)
        first = False


def _asked(guide: Guide) -> tuple[Point, State] | None:
    """Read off the big button what is to be read, and in which state."""
    head, _, name = _button(guide).text.partition(": ")
    points = {point.full_name: point for point in Point}
    states = {state.full_name: state for state in State}
    if name not in points:
        return None
    return points[name], states.get(head, guide.work.callback.state)


def _look_round(guide: Guide) -> None:
    finger = guide.finger
    finger.tap("Findings")
    guide.picture("findings")
    finger.tap("Ladder")
    guide.picture("ladder")
    finger.tap("Then and now")
    guide.picture("then_and_now")
    finger.tap("Circuit")


def _put_right(guide: Guide) -> None:
    finger = guide.finger
    finger.tap("Findings")
    finger.tap("Put it right")
    finger.tap("agrees to the work")
    finger.tap(finger.app.navigator.page.ids.repair.ids.input)
    finger.type(REPAIRED)
    guide.picture("repair")
    finger.tap("Done: now prove it")
    _settle(guide)
