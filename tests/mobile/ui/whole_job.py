"""A hand that sets up a new vehicle and walks its whole commissioning, step by step.

Run as a script it plays the first part in a process of its own, says where it got to, and
waits to be killed: arguments are the store's folder and how many steps to answer.
"""

import sys
import time
from pathlib import Path
from typing import Any

if __name__ == "__main__":
    from mobile.ui import toolkit

    toolkit.prepare(toolkit.SMALL_PHONE, offscreen=True, own_home=True)

from logic.checklist.step import AskChoice, AskPhoto, AskReading, AskText, AskYesNo, Step
from mobile.jobs.typed_reading import SUNLIGHT
from tests.mobile.ui.workshop import write

PLATE = "QUAY 12"
USUAL = (
    "12 V",
    "25 A, sealed",
    "AGM, 100 Ah",
    "Ute tray, return by its own cable",
    "16 mm²",
    "Fixed voltage, 120 A",
    "AGM, 80 Ah",
    "120 W, 12 V type",
    "Ordinary multimeter and DC clamp",
)
NOTE = "Read off the label, wiped clean first"


def set_up(hand: Any) -> None:
    """From the list of vehicles to the first stage of a new vehicle's commissioning."""
    hand.tap("New vehicle")
    write(hand, "Registration plate", PLATE)
    write(hand, "Description", "mobile knife grinder's van")
    write(hand, "Customer", "Ambrose Tolley")
    for words in ("Next: equipment", *USUAL, "Done", "Start commissioning"):
        hand.tap(words)


def walk(hand: Any, steps: int = 1000) -> list[str]:
    """Answer so many steps, or all that there are; returns their ids."""
    answered: list[str] = []
    while hand.app.navigator.current != "review" and len(answered) < steps:
        if hand.app.navigator.current == "stage":
            hand.tap("Begin")
            continue
        step = hand.app.work.walk.step
        _cut_the_wait(hand)
        _answer(hand, step)
        answered.append(step.id)
    return answered


def half_a_reading(hand: Any) -> None:
    """Go on to the next step with a meter, and type the first digit only."""
    while not isinstance(hand.app.work.walk.step.ask, AskReading) or _is_chosen(hand):
        walk(hand, 1)
    if hand.app.navigator.current == "stage":
        hand.tap("Begin")
    _cut_the_wait(hand)
    hand.tap("1")


def _is_chosen(hand: Any) -> bool:
    return hand.app.work.walk.step.point in ("sunlight_fraction", "charging_indicator")


def _cut_the_wait(hand: Any) -> None:
    if hand.app.work.walk.wait_left():
        hand.tap("Go on now (the record will say so)")


def _answer(hand: Any, step: Step) -> None:
    match step.ask:
        case AskReading():
            _read(hand)
        case AskText():
            write_text(hand)
        case AskYesNo(acceptable=wanted):
            hand.tap(wanted.capitalize())
        case AskChoice(choices=choices):
            hand.tap(next(choice.text for choice in choices if choice.acceptable))
        case AskPhoto():
            hand.tap("More")
            hand.tap("Leave out")
            hand.tap("Cannot be reached")


def write_text(hand: Any) -> None:
    """Write into the step's own text field."""
    text_field = next(w for w in hand.shown() if hasattr(w, "ids") and "input" in w.ids)
    hand.tap(text_field.ids.input)
    hand.type(NOTE)
    hand.tap(hand.app.navigator.page.ids.next)


def _read(hand: Any) -> None:
    """Read what a sound vehicle of this description shows: the middle of the band."""
    expected = hand.app.work.walk.expectation()
    words = {getattr(w, "text", "") for w in hand.shown()}
    if "Not lit" in words:
        hand.tap("Lit" if expected.low else "Not lit")
    elif SUNLIGHT[0][1] in words:
        hand.tap(SUNLIGHT[0][1])
    else:
        for key in _middle(expected.low, expected.high):
            hand.tap("−" if key == "-" else key)
    hand.tap(hand.app.navigator.page.ids.next)


def _middle(low: float | None, high: float | None) -> str:
    if low is None and high is None:
        return "20"
    if low is None or high is None:
        edge = low if low is not None else high or 0.0
        return f"{edge * (1.05 if low is not None else 0.8):.3g}"
    return f"{(low + high) / 2:.3g}"


def main(folder: str, steps: int) -> None:
    """Play the first part and wait to be killed."""
    from mobile.demo.finger import holding
    from mobile.ui.app import build_app
    from tests.paths import CHECKLISTS

    app = build_app(Path(folder), CHECKLISTS)
    with holding(app) as hand:
        set_up(hand)
        answered = walk(hand, steps)
        half_a_reading(hand)
        print(f"{len(answered)} {app.work.walk.step.id}", flush=True)
        time.sleep(60)


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]))
