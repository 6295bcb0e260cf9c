"""The tour: a whole job played by a simulated finger, with a picture of every screen.

It types and taps what a technician would on the demo's vehicles and leaves the pictures, the
signed PDF and the record's JSON in a folder. Nothing in it goes round the screens.
"""

import shutil
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from logic.checklist.run import Screen
from logic.checklist.step import AskChoice, AskPhoto, AskReading, AskText, AskYesNo, Step
from logic.vehicle.points import Unit
from mobile.demo import stories
from mobile.demo.finger import finger_on
from mobile.demo.guide import Guide
from mobile.demo.tour_callback import follow_a_callback
from mobile.ui.app import build_app

WAIT = "Go on now (the record will say so)"
IN_ORDER = ("All in order", "The others are in order")
NOT_TAKEN = "Cannot be reached"


def play(store_folder: Path, checklists: Path, folder: Path) -> int:
    """Play the tour on a demo store; returns the exit code."""
    folder.mkdir(parents=True, exist_ok=True)
    with finger_on(build_app(store_folder, checklists)) as finger:
        guide = Guide(finger, folder)
        set_up_a_vehicle(guide, "HOP 729", "hop grower's van")
        commission(guide, "BEE 338")
        follow_a_callback(guide, "SAW 051")
    print(f"The tour left {guide.count} pictures, the PDF and the JSON in {folder}", flush=True)
    return 0


def set_up_a_vehicle(guide: Guide, plate: str, description: str) -> None:
    """Make a vehicle from presets, one tap a question."""
    guide.picture("vehicles")
    guide.finger.tap("New vehicle")
    guide.write(0, plate)
    guide.write(1, description)
    guide.picture("plate")
    guide.finger.tap("Next: equipment")
    page = guide.finger.app.navigator.page
    guide.picture("first_question")
    while page.asking:
        guide.finger.tap(_usual_answer(guide, page))
        if page.asking:
            guide.picture("next_question")
    guide.picture("equipment")
    guide.finger.tap("Done")
    guide.picture("vehicle_described")
    guide.home()


def _usual_answer(guide: Guide, page: Any) -> str:
    chips = page.ids.answers.children[0]
    wanted: list[str] = [words for _, words in chips.options]
    return next((one for one in wanted if one in _USUAL), wanted[0])


def commission(guide: Guide, plate: str) -> None:
    """Walk every step of a fresh vehicle's commissioning and sign it."""
    told = next(v for v in stories.invented()["vehicles"] if v["registration"] == plate)
    guide.open(plate)
    guide.picture("vehicle")
    guide.finger.tap("Start commissioning")
    _walk(guide, told["readings"])
    guide.picture("review")
    guide.finger.tap("Sign")
    _sign(guide, told["customer"])


def _walk(guide: Guide, readings: Mapping[str, Mapping[str, float]]) -> None:
    navigator = guide.finger.app.navigator
    pictured: set[str] = set()
    while navigator.current != "review":
        if navigator.current == "stage":
            guide.picture(f"stage_{guide.work.walk.stage.id}")
            guide.finger.tap("Begin")
            continue
        if look := guide.work.walk.look:
            guide.picture(f"look_{look.steps[0].look}")
            if in_order := _in_order(guide):
                guide.finger.tap(in_order)
            _by_itself(guide, look)
            continue
        step = guide.work.walk.step
        _give(guide, step, readings)
        if step.id in _PICTURED or step.ask.kind not in pictured:
            pictured.add(step.ask.kind)
            guide.picture(f"step_{step.id}")
        _go_on(guide, step, readings)


def _in_order(guide: Guide) -> str:
    shown = {getattr(widget, "text", "") for widget in guide.finger.shown()}
    return next((words for words in IN_ORDER if words in shown), "")


def _by_itself(guide: Guide, look: Screen) -> None:
    """Answer what fails its design check on its own page: the demo has looked into it."""
    for step in look.steps:
        if not guide.work.walk.is_step_open(step):
            continue
        shown = guide.finger.app.navigator.page.looked_at
        guide.finger.tap(next(line.question for line in shown if line.step == step))
        guide.picture(f"by_itself_{step.id}")
        guide.finger.tap("Yes")
    navigator = guide.finger.app.navigator
    if navigator.current == "step" and guide.work.walk.look == look:
        guide.finger.tap(navigator.page.ids.next)


def _give(guide: Guide, step: Step, readings: Mapping[str, Mapping[str, float]]) -> None:
    if any(getattr(widget, "text", "") == WAIT for widget in guide.finger.shown()):
        guide.picture(f"wait_{step.id}")
        guide.finger.tap(WAIT)
    match step.ask:
        case AskReading(point=point, state=state) if point.unit is not Unit.LIT:
            guide.read(float(readings[state][point]))
        case AskText():
            guide.write(0, "As on the job card")


def _go_on(guide: Guide, step: Step, readings: Mapping[str, Mapping[str, float]]) -> None:
    match step.ask:
        case AskReading(point=point, state=state) if point.unit is Unit.LIT:
            guide.read(float(readings[state][point]))  # the tap leads on
        case AskYesNo(acceptable=wanted):
            guide.finger.tap(wanted.capitalize())
        case AskChoice(choices=choices):
            guide.finger.tap(next(choice.text for choice in choices if choice.acceptable))
        case AskPhoto():
            guide.finger.tap("More")
            guide.picture("more")
            guide.finger.tap("Leave out")
            guide.picture("leave_out")
            guide.finger.tap(NOT_TAKEN)
        case _:
            guide.finger.tap(guide.finger.app.navigator.page.ids.next)


def _sign(guide: Guide, customer: str) -> None:
    navigator = guide.finger.app.navigator
    guide.picture("signing")
    for whose in ("Your signature", "Customer's signature"):
        guide.finger.tap(whose)
        if navigator.current == "front_page":
            guide.picture("front_page")
            guide.finger.tap("Read: sign it")
        _scrawl(guide, navigator.page.ids.pad)
        guide.picture("signature")
        guide.finger.tap("Done")
    guide.picture("signed_by_both")
    guide.finger.tap("Seal the record")
    guide.wait_until(lambda: navigator.current == "record" and navigator.page.pdf)
    guide.picture("record")
    _keep(guide, Path(navigator.page.pdf))


def _scrawl(guide: Guide, pad: Any) -> None:
    x, y = pad.to_window(*pad.pos)
    for stroke in stories.scrawl(4):
        guide.finger.draw([(x + a * pad.width, y + b * pad.height) for a, b in stroke])


def _keep(guide: Guide, pdf: Path) -> None:
    shutil.copy(pdf, guide.folder / "record.pdf")
    newest = list(guide.work.store.sealed_records())[-1]
    (guide.folder / "record.json").write_text(newest.model_dump_json(indent=1), "utf-8")


_USUAL = {"12 V", "25 A, 12 V"}
_PICTURED = {"idle_vehicle_feed_drop", "rest_charger_input_voltage", "house_loads"}
