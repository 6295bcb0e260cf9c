"""How many files one must open to follow a diagnosis: those that a call runs through."""

import sys
from pathlib import Path
from types import FrameType

from logic.case import Case
from logic.diagnosis.engine import diagnose
from tests.paths import CHECKOUT, GOLDEN

LOGIC = CHECKOUT / "logic"
# What every room speaks in: a reading, what is fitted, names and figures. Nothing is decided there.
VOCABULARY = {"case.py", "vehicle/installation.py", "words/figures.py", "words/names.py"}


def test_a_diagnosis_runs_through_fourteen_files_at_most_besides_the_vocabulary():
    case = Case.from_json((GOLDEN / "library_van_case.json").read_text(encoding="utf-8"))
    diagnose(case)  # reads data files and makes what is kept
    files: set[str] = set()

    def note(frame: FrameType, event: str, _argument: object) -> None:
        path = Path(frame.f_code.co_filename)
        if event == "call" and path.is_relative_to(LOGIC):
            files.add(path.relative_to(LOGIC).as_posix())

    sys.setprofile(note)
    try:
        diagnose(case)
    finally:
        sys.setprofile(None)
    assert "diagnosis/engine.py" in files
    assert len(files - VOCABULARY) <= 14, sorted(files)
