"""How many of our files one diagnosis runs through: what a reader has open to follow it."""

import sys
from pathlib import Path

import logic
from tests.paths import CHECKOUT, GOLDEN

CASE = GOLDEN / "library_van_case.json"
OURS = (CHECKOUT / "logic", CHECKOUT / "mobile")


def files_run(function, *arguments):
    """Name our files in which any function runs during a call."""
    found = set()

    def note(frame, event, _):
        if event == "call":
            found.add(Path(frame.f_code.co_filename))

    before = sys.getprofile()
    sys.setprofile(note)
    try:
        function(*arguments)
    finally:
        sys.setprofile(before)
    return {path for path in found if any(path.is_relative_to(ours) for ours in OURS)}


def test_one_diagnosis_runs_through_twenty_seven_of_our_files_at_most():
    case = logic.Case.model_validate_json(CASE.read_text(encoding="utf-8"))
    diagnose = logic.diagnose
    diagnose(case)  # what is read or worked out once for an installation is kept
    found = files_run(diagnose, case)
    assert CHECKOUT / "logic/circuit/operating_point.py" in found
    assert CHECKOUT / "logic/limits/verdict.py" in found
    assert len(found) <= 27, sorted(found)
