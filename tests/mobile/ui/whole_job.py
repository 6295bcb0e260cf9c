"""Sets up a new vehicle and walks its whole commissioning, step by step.

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
    "90 °C, 3 together",
    "Fixed voltage, 120 A",
    "AGM, 80 Ah",
    "No",
    "120 W, 12 V type",
    "Ordinary multimeter and current clamp",
)
NOTE = "Read off the label, wiped clean first"


def set_up(finger: Any) -> None:
    """From the list of vehicles to the first stage of a new vehicle's commissioning."""
    finger.tap("New vehicle")
    write(finger, "Registration plate", PLATE)
    write(finger, "Description", "mobile knife grinder's van")
    write(finger, "Customer", "Ambrose Tolley")
    for words in ("Next: equipment", *USUAL, "Done", "Start commissioning"):
        finger.tap(words)


def walk(finger: Any, steps: int = 1000) -> list[str]:
    """Answer so many steps, or all that there are; returns their ids."""
    answered: list[str] = []
    while finger.app.navigator.current != "review" and len(answered) < steps:
        if finger.app.navigator.current == "stage":
            finger.tap("Begin")
            continue
        if look := finger.app.work.walk.look:
            finger.tap("All in order")
            answered += [step.id for step in look.steps]
            continue
        step = finger.app.work.walk.step
        _cut_the_wait(finger)
        _answer(finger, step)
        answered.append(step.id)
    return answered


def half_a_reading(finger: Any) -> None:
    """Go on to the next step with a meter, and type the first digit only."""
    while not isinstance(finger.app.work.walk.step.ask, AskReading) or _is_chosen(finger):
        walk(finger, 1)
    if finger.app.navigator.current == "stage":
        finger.tap("Begin")
    _cut_the_wait(finger)
    finger.tap("1")


def _is_chosen(finger: Any) -> bool:
    return finger.app.work.walk.step.point in ("sunlight_fraction", "charging_indicator")


def _cut_the_wait(finger: Any) -> None:
    if finger.app.work.walk.wait_left():
        finger.tap("Go on now (the record will say so)")


def _answer(finger: Any, step: Step) -> None:
    match step.ask:
        case AskReading():
            _read(finger)
        case AskText():
            write_text(finger)
        case AskYesNo(acceptable=wanted):
            finger.tap(wanted.capitalize())
        case AskChoice(choices=choices):
            finger.tap(next(choice.text for choice in choices if choice.acceptable))
        case AskPhoto():
            finger.tap("More")
            finger.tap("Leave out")
            finger.tap("Cannot be reached")


def write_text(finger: Any) -> None:
    """Write into the step's own text field."""
    text_field = next(w for w in finger.shown() if hasattr(w, "ids") and "input" in w.ids)
    finger.tap(text_field.ids.input)
    finger.type(NOTE)
    finger.tap(finger.app.navigator.page.ids.next)


def _read(finger: Any) -> None:
    """Read what a sound vehicle of this description shows: the middle of the band."""
    walk = finger.app.work.walk
    expected = walk.reading_context(walk.step.ask).expectation()
    words = {getattr(w, "text", "") for w in finger.shown()}
    if "Not lit" in words:
        finger.tap("Lit" if expected.low else "Not lit")
    elif "No" in words:
        finger.tap("Yes" if expected.low else "No")
        return
    elif SUNLIGHT[0][1] in words:
        finger.tap(SUNLIGHT[0][1])
    else:
        for key in _middle(expected.low, expected.high):
            finger.tap("−" if key == "-" else key)
    finger.tap(finger.app.navigator.page.ids.next)


def _middle(low: float | None, high: float | None) -> str:
    if low is None and high is None:
        return "20"
    if low is None or high is None:
        edge = low if low is not None else high or 0.0
        return f"{edge * (1.05 if low is not None else 0.8):.3g}"
    return f"{(low + high) / 2:.3g}"


def main(folder: str, steps: int) -> None:
    """Play the first part and wait to be killed."""
    from mobile.demo.finger import finger_on
    from mobile.ui.app import build_app
    from tests.paths import CHECKLISTS

    app = build_app(Path(folder), CHECKLISTS)
    with finger_on(app) as finger:
        set_up(finger)
        answered = walk(finger, steps)
        half_a_reading(finger)
        print(f"{len(answered)} {app.work.walk.step.id}", flush=True)
        time.sleep(60)


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]))
