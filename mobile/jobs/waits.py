"""Countdowns of steps that must wait: when each began, kept through a restart.

The time at which a wait began is in the store, so it runs on while the phone is off. A wait
that was cut short is said in a note, which the record carries.
"""

from collections.abc import Callable
from datetime import datetime

from logic.checklist.step import Step
from logic.records.store.store import Store
from mobile.jobs.wording import span

SETTING = "waits"
_CUT = "cut"
_JOBS_KEPT = 20


class Waits:
    """The waits of one job."""

    def __init__(self, store: Store, job_id: str, clock: Callable[[], datetime]) -> None:
        self._store = store
        self._job_id = job_id
        self._clock = clock
        self._begun: dict[str, str] = store.setting(SETTING, {}).get(job_id, {})

    def begin(self, step: Step) -> None:
        """Start a step's wait when it is first shown."""
        if step.wait_s and step.id not in self._begun:
            self._keep(step.id, self._clock().isoformat())

    def left(self, step: Step) -> float:
        """Return the seconds still to wait."""
        begun = self._begun.get(step.id, "")
        if not step.wait_s or begun == _CUT:
            return 0.0
        return max(0.0, step.wait_s - self._passed(begun))

    def cut(self, step: Step) -> str:
        """End a wait early; return the note that says so, "" where there was nothing to cut."""
        left = self.left(step)
        if not left:
            return ""
        waited = span(step.wait_s - left)
        self._keep(step.id, _CUT)
        return f"Wait cut short: {waited} of {span(step.wait_s)}."

    def _passed(self, begun: str) -> float:
        # A clock set back must not make the wait longer than it is.
        passed = (self._clock() - datetime.fromisoformat(begun)).total_seconds() if begun else 0.0
        return max(0.0, passed)

    def _keep(self, step_id: str, begun: str) -> None:
        self._begun[step_id] = begun
        kept = self._store.setting(SETTING, {})
        kept.pop(self._job_id, None)
        latest = list(kept.items())[-_JOBS_KEPT:]
        self._store.set_setting(SETTING, dict(latest) | {self._job_id: self._begun})
