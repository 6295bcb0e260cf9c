"""What was found, what was done about it and whose matter it was; then it has to be proved."""

from pathlib import Path
from typing import Literal

from kivy.lang import Builder
from kivy.properties import StringProperty

from logic.case import FaultId, Responsibility
from logic.diagnosis import catalogue
from logic.words.names import RESPONSIBILITIES, WARRANTIES, capitalised
from mobile.jobs.callback import TEXTS
from mobile.ui.screens.callback_page import CallbackPage
from mobile.ui.widgets import fields  # noqa: F401  (the kv builds on it)
from mobile.ui.widgets.buttons import Chip
from mobile.ui.widgets.step_cards import StepCards

Builder.load_file(str(Path(__file__).with_suffix(".kv")))

_OFFERED = 4
_OTHER = "other"
_STAGE = "before_repair"


class RepairScreen(CallbackPage):
    """Nothing typed here is lost; "Repaired: prove it" writes the conclusion down."""

    plate = StringProperty("")
    missing = StringProperty("")
    done_words = StringProperty("")

    def begin(self) -> None:
        callback = self.callback
        self.plate, self.missing = callback.plate, ""
        self._chosen = self._first_choice()
        self.ids.cause.text = callback.draft(TEXTS, "cause") or self._concluded("cause")
        self.ids.repair.text = callback.draft(TEXTS, "repair") or self._concluded("repair")
        options = [(who, capitalised(name)) for who, name in RESPONSIBILITIES.items()]
        self.ids.responsibility.options = options
        warranty = callback.installation.charger.warranty
        under = f"Under warranty: {WARRANTIES[warranty]}." if warranty else ""
        self.ids.responsibility.hint = under
        given = callback.draft(TEXTS, "responsibility") or self._concluded("responsibility")
        self.ids.responsibility.value = given or self._usual_responsibility()
        self._offer()
        self.ids.body.to_top()

    def refresh(self) -> None:
        self.ids.before.clear_widgets()
        cards = StepCards(callback=self.callback, stage_id=_STAGE)
        self.ids.before.add_widget(cards)
        is_checked = bool(self.callback.checks_of(self._faults()))
        self.done_words = "Done: now prove it" if is_checked else "Done: close the visit"

    def answered(self) -> None:
        """What the technician writes here does not change with the diagnosis."""

    def kept(self, kind: str, text: str) -> None:
        """Keep what is typed or chosen."""
        self.missing = ""
        self.callback.keep(TEXTS, kind, text)

    def done(self) -> None:
        """Write the conclusion down and go on to its check."""
        cause, repair = self.ids.cause.text.strip(), self.ids.repair.text.strip()
        faults = self._faults()
        if not (faults or cause):
            self.missing = "Tap what it was, or write the cause in your own words."
        elif not repair:
            self.missing = "Write what was done, or why nothing was."
        else:
            cause = cause or catalogue.titles(faults)
            chosen: Responsibility | Literal[""] = self.ids.responsibility.value
            whose: Responsibility = chosen or "none"
            self.callback.conclude(faults, cause, repair, whose)
            self._go_on()

    def _go_on(self) -> None:
        if not self.callback.check_readings():
            self.navigator.replace("closing", job_id=self.callback.job_id)
        else:
            self.to_circuit()

    # The cause

    def _candidates(self) -> tuple[tuple[FaultId, ...], ...]:
        """What was concluded, then what the findings say, most likely first."""
        conclusion, found = self.callback.job.conclusion, self.callback.diagnosis
        offered = [conclusion.faults] if conclusion and conclusion.faults else []
        if found and self.callback.readings and self.callback.phase == "before":
            offered += [one.faults for one in found.findings[:_OFFERED]]
        return tuple(dict.fromkeys(offered))

    def _first_choice(self) -> tuple[FaultId, ...]:
        drafted = self.callback.draft(TEXTS, "faults")
        if drafted == _OTHER:
            return ()
        if drafted:
            return tuple(drafted.split("+"))
        if self._nothing_listed_leads() and not self.callback.job.conclusion:
            return ()
        return next(iter(self._candidates()), ())

    def _nothing_listed_leads(self) -> bool:
        found = self.callback.diagnosis
        if found is None or not self.callback.readings or self.callback.phase != "before":
            return False
        return found.nothing_listed_leads

    def _faults(self) -> tuple[FaultId, ...]:
        return self._chosen

    def _offer(self) -> None:
        self.ids.causes.clear_widgets()
        listed = self._candidates()
        for faults in ((), *listed) if self._nothing_listed_leads() else (*listed, ()):
            words = catalogue.titles(faults) if faults else "Something else: write it below"
            value = "+".join(faults) or _OTHER
            chip = Chip(text=words, value=value, chosen=faults == self._chosen)
            chip.bind(on_release=self._choose)
            self.ids.causes.add_widget(chip)

    def _choose(self, chip: Chip) -> None:
        chosen = () if chip.value == _OTHER else tuple(chip.value.split("+"))
        self._chosen = chosen
        self.kept("faults", chip.value)
        for other in self.ids.causes.children:
            other.chosen = other is chip
        self.ids.responsibility.value = self._usual_responsibility()
        self.kept("responsibility", self.ids.responsibility.value)
        self.refresh()

    def _usual_responsibility(self) -> str:
        entries = catalogue.known(self._chosen)
        return str(entries[0].responsibility) if entries else "none"

    def _concluded(self, name: str) -> str:
        conclusion = self.callback.job.conclusion
        return str(getattr(conclusion, name)) if conclusion else ""
