"""The demo: four invented vehicles of Fernhollow Auto Electrical, and the tour through them.

The jobs are made from the same events, checklists and seal as any other, so the demo shows
the real thing. ``stories.toml`` holds the invented vehicles and what a meter showed on them.
"""

import math
import tomllib
from collections.abc import Iterator, Mapping
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from logic.case import Reading
from logic.checklist import run as checklist_run
from logic.checklist.answers import Answer, ChoiceAnswer, ReadingAnswer, TextAnswer, YesNoAnswer
from logic.checklist.depth import Depth
from logic.checklist.form import Library, load
from logic.checklist.step import AskChoice, AskPhoto, AskReading, AskYesNo, Checklist, Step
from logic.records import sign_off
from logic.records.events import (
    CustomerDescribed,
    Event,
    InstallationDescribed,
    JobOpened,
    ReadingTaken,
    StepAnswered,
    StepSkipped,
    VehicleDescribed,
    new_id,
)
from logic.records.record import Signature, Stroke
from logic.records.review import WorkDone
from logic.records.store.store import Store
from logic.vehicle.identity import Customer, Technician, Vehicle
from logic.vehicle.installation import Installation
from mobile import __version__
from mobile.jobs.workplace import system_clock

DATA = Path(__file__).with_name("stories.toml")
CHECKLIST = "commissioning"
COMPLAINT = "House battery never full, heater cuts out by morning."


def invented() -> dict[str, Any]:
    """Return the demo's data as read."""
    return tomllib.loads(DATA.read_text(encoding="utf-8"))


def fill(folder: Path, checklists: Path, now: datetime | None = None) -> None:
    """Put the demo's vehicles into a store that has none yet."""
    store = Store.open(folder)
    try:
        if not store.find_vehicles(limit=1):
            library, data = load(checklists), invented()
            technician = Technician.model_validate(data["technician"])
            store.set_setting("technician", technician.model_dump(mode="json"))
            for told in data["vehicles"]:
                _Story(store, library, technician, told, now or system_clock()).tell()
    finally:
        store.close()


class _Story:
    """One vehicle's history, told as events."""

    def __init__(
        self,
        store: Store,
        library: Library,
        technician: Technician,
        told: Mapping[str, Any],
        now: datetime,
    ) -> None:
        self.store, self.library, self.technician, self.told = store, library, technician, told
        self.vehicle_id = new_id()
        self.installation = Installation.model_validate(told["installation"])
        self.stage = told["stage"]
        self.at = now - _AGE[self.stage]
        # What was signed before is the full sheet: a callback compares with all of it.
        self._depth = Depth.STANDARD if self.stage == "half" else Depth.FULL

    def tell(self) -> None:
        """Write the vehicle's events, as far as its stage goes."""
        self._add(None, *self._described())
        if self.stage == "fresh":
            return
        job_id = self._commissioned(until="engine_idle" if self.stage == "half" else "")
        if self.stage == "half":
            return
        self._sign(job_id)
        if self.stage == "callback":
            self.at += timedelta(days=140)
            self._called_back()

    def _add(self, job_id: str | None, *bodies: Any) -> None:
        events = []
        for body in bodies:
            self.at += timedelta(seconds=20)
            vehicle_id = self.vehicle_id
            events.append(Event(vehicle_id=vehicle_id, job_id=job_id, at=self.at, body=body))
        self.store.append_all(events)

    def _described(self) -> Iterator[Any]:
        told = self.told
        plate, words = told["registration"], told["description"]
        yield VehicleDescribed(vehicle=Vehicle(registration=plate, description=words))
        yield CustomerDescribed(customer=Customer(name=told["customer"], contact=told["note"]))
        yield InstallationDescribed(installation=self.installation)

    def _commissioned(self, until: str = "") -> str:
        """Walk the checklist up to a stage, or to its end; returns the job's id."""
        job_id, checklist = new_id(), self.library.checklists[CHECKLIST]
        opened = JobOpened(
            job_kind="commissioning",
            checklist_id=CHECKLIST,
            checklist_version=checklist.version,
            depth=self._depth,
        )
        self._add(job_id, opened, *self._walked(checklist, until))
        return job_id

    def _walked(self, checklist: Checklist, until: str) -> Iterator[StepAnswered | StepSkipped]:
        answers: dict[str, Answer] = {}
        facts = checklist_run.Facts(self.installation, answers, depth=self._depth)
        step = checklist_run.next_open_step(checklist, facts)
        while step is not None and checklist.stage_of[step.id].id != until:
            answer = answer_for(step, self.told["readings"])
            if answer is None:
                reason = "Terminals shown on the label's photo; none kept here."
                yield StepSkipped(step_id=step.id, reason=reason)
            else:
                yield StepAnswered(step_id=step.id, answer=answer)
                answers[step.id] = answer
            step = checklist_run.next_step(checklist, facts, step.id)

    def _sign(self, job_id: str) -> None:
        work = WorkDone(self.store.vehicle(self.vehicle_id), self.store.job(job_id), self.library)
        signing = sign_off.Signing(
            technician=self.technician,
            technician_signature=Signature(name=self.technician.name, strokes=scrawl(3)),
            customer_signature=Signature(name=self.told["customer"], strokes=scrawl(5)),
            signed_at=self.at + timedelta(minutes=1),
            app_version=__version__,
            place="Fernhollow, the workshop's yard",
        )
        self.store.seal(*sign_off.record(work, signing))

    def _called_back(self) -> None:
        readings = [
            Reading(point=point, state=state, value=self.told["today"][state][point])
            for point, state in _SYMPTOM_READINGS
        ]
        checklist = self.library.checklists["fault_finding"]
        opened = JobOpened(
            job_kind="callback",
            checklist_id=checklist.id,
            checklist_version=checklist.version,
            symptoms=(self.library.symptoms["battery_never_full"].words,),
            complaint=COMPLAINT,
        )
        self._add(new_id(), opened, *(ReadingTaken(reading=reading) for reading in readings))


_AGE = {
    "fresh": timedelta(hours=3),
    "half": timedelta(hours=1),
    "signed": timedelta(days=41),
    "callback": timedelta(days=140, hours=2),
}
_SYMPTOM_READINGS = (
    ("house_battery_voltage", "rest"),
    ("start_battery_voltage", "idle"),
    ("house_battery_voltage", "idle"),
)


def answer_for(step: Step, readings: Mapping[str, Mapping[str, float]]) -> Answer | None:
    """Answer a step as a sound job would; None for a photo, which the demo does not have."""
    match step.ask:
        case AskReading(point=point, state=state):
            value = float(readings[state][point])
            return ReadingAnswer(value=value, typed=f"{value:g}")
        case AskYesNo(acceptable=wanted):
            return YesNoAnswer(yes=wanted == "yes")
        case AskChoice(choices=choices):
            return ChoiceAnswer(choice=next(one.id for one in choices if one.acceptable))
        case AskPhoto():
            return None
    return TextAnswer(text="As described on the job card.")


def scrawl(turns: int) -> tuple[Stroke, ...]:
    """Draw an invented signature: loops that lean to the right."""
    steps = [i / 60 for i in range(61)]
    loops = tuple(
        (0.08 + 0.8 * t + 0.05 * math.sin(turns * 6.3 * t), 0.5 + 0.22 * math.cos(turns * 6.3 * t))
        for t in steps
    )
    return (loops, tuple((0.1 + 0.75 * t, 0.16 + 0.08 * t) for t in steps[::6]))
