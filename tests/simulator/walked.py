"""The commissioning walk on a simulated vehicle: which readings its checklist has somebody take.

The checklist is walked as the app walks it: a reading that the verdicts find out of range brings
in the steps that narrow it down. What is answered beside the readings follows from the vehicle.
"""

from collections.abc import Collection
from dataclasses import replace

from logic.case import Reading, Verdict
from logic.checklist import form, run
from logic.checklist.answers import Answer, ChoiceAnswer, PhotoAnswer, ReadingAnswer, YesNoAnswer
from logic.checklist.conditions import Facts
from logic.checklist.depth import Depth
from logic.checklist.step import AskChoice, AskPhoto, AskReading, AskYesNo, Checklist, Step
from logic.limits.verdict import judge
from logic.vehicle.installation import Installation
from logic.vehicle.points import ReadingKey
from tests.paths import CHECKLISTS
from tests.simulator.metering import Bench
from tests.simulator.solver import settle

WALK = form.load(CHECKLISTS).checklists["commissioning"]
# A load under this is not seen to run; what a technician finds to switch on (assumed).
SEEN_A, SWITCHED_ON_A = 0.3, 12.0


class Walked:
    """One walk: its facts as they come, and the readings taken."""

    def __init__(
        self,
        bench: Bench,
        description: dict,
        depth: Depth = Depth.STANDARD,
        without: Collection[ReadingKey] = (),
        checklist: Checklist = WALK,
    ) -> None:
        self.bench, self.depth, self.without = bench, depth, frozenset(without)
        self.checklist = checklist
        self.installation = Installation.model_validate(description)
        self.answers: dict[str, Answer] = {}
        self.skipped: dict[str, str] = {}
        self.verdicts: dict[str, Verdict] = {}
        self.readings: list[dict] = []
        self.order: list[Step] = []
        self._typed: list[Reading] = []

    @property
    def facts(self) -> Facts:
        """What is known so far, as the app has it."""
        return Facts(self.installation, self.answers, self.skipped, self.depth, self.verdicts.get)

    def to_the_end(self) -> "Walked":
        """Take one step after the other until none is open."""
        at = ""
        while step := run.next_open_step(self.checklist, self.facts, at):
            at = step.id
            self.order.append(step)
            answer = self._answer(step)
            if answer is None:
                self.skipped[step.id] = "left out for the trial"
            else:
                self.answers[step.id] = answer
        return self

    def _answer(self, step: Step) -> Answer | None:
        match step.ask:
            case AskReading():
                return self._read(step.id, step.ask)
            case AskYesNo(acceptable=wanted):
                return YesNoAnswer(yes=wanted == "yes")
            case AskChoice():
                return ChoiceAnswer(choice=self._choice(step))
            case AskPhoto():
                return PhotoAnswer(sha256="0" * 64)
        return None

    def _read(self, step_id: str, ask: AskReading) -> Answer | None:
        key = ReadingKey(ask.point, ask.state)
        if key in self.without:
            return None
        shown = self.bench.read(ask.point.value, ask.state.value)
        reading = Reading.model_validate(shown)
        self.readings = [one for one in self.readings if not _is_of(one, key)]
        self.readings.append(shown)
        self.verdicts[step_id] = judge(self.installation, self._typed, reading)
        self._typed.append(reading)
        return ReadingAnswer(value=reading.value)

    def _choice(self, step: Step) -> str:
        vehicle = self.bench.vehicle
        if step.id == "house_loads":
            return "something_on" if vehicle.load_a > SEEN_A else "nothing_on"
        if step.id == "house_battery_loaded":
            return self._loaded()
        return next(choice.id for choice in step.ask.choices if choice.acceptable)

    def _loaded(self) -> str:
        """Switch a load on, watch the output current, and switch it off again."""
        vehicle = self.bench.vehicle
        before = settle(vehicle, "idle").values["output_current"]
        loaded = replace(vehicle, load_a=vehicle.load_a + SWITCHED_ON_A)
        after = settle(loaded, "idle").values["output_current"]
        if after >= 0.92 * self.installation.charger.rated_output_current_a:
            return "reaches_rating"
        return "rises_by_load" if after - before > 0.6 * SWITCHED_ON_A else "stays_low"


def _is_of(reading: dict, key: ReadingKey) -> bool:
    return (reading["point"], reading["state"]) == (key.point.value, key.state.value)
