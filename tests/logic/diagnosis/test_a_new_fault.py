"""A fault of a known kind is one entry of the catalogue: tried on a copy of the program."""

import json
import shutil
import subprocess
import sys

from logic.diagnosis import catalogue
from tests.paths import CHECKOUT

ENTRY = """
[[fault]]
id = "engine_speed_hunts"
title = "Engine hunts and the alternator with it"
short = "hunting engine"
responsibility = "vehicle"
source = "assumed: as common as any other"
parts = ["alternator", "start_battery"]
remedy = ["Have the idle looked at before anything else is judged."]
customer = "The engine does not idle evenly, and the charging voltage follows it."
repair_check = [{ point = "start_battery_voltage", state = "idle" }]

[[fault.way]]
change = [
    { unknown = "supply_idle_v", to = 12.9, spread = 0.1 },
    { unknown = "supply_fast_v", to = 2.2, spread = 0.1 },
]
"""
# A regulator that holds little at idle and 2.2 V more above it, and a unit that works from both.
CASE = {
    "installation": {
        "alternator": {"control": "fixed"},
        "charger": {"rated_output_current_a": 25},
        "house_battery": {"chemistry": "agm", "capacity_ah": 100},
    },
    "readings": [
        {"point": "start_battery_voltage", "state": "idle", "value": 12.91},
        {"point": "charger_input_voltage", "state": "idle", "value": 12.55},
        {"point": "start_battery_voltage", "state": "fast_idle", "value": 15.1},
        {"point": "output_current", "state": "idle", "value": 25.4},
    ],
}
SCRIPT = """
import json, sys
from logic import Case, diagnose
from logic.checklist import run
from logic.checklist.form import load
from logic.diagnosis.catalogue import parts_touched
from logic.records.events import CauseConcluded
from mobile.jobs import callback_words

found = diagnose(Case.model_validate_json(sys.argv[1]))
first = found.findings[0]
[view, *_] = callback_words.findings(found)
walk = load(__import__("pathlib").Path("checklists")).checklists["commissioning"]
again = run.steps_to_prove(walk, run.Facts(), parts_touched(first.faults))
CauseConcluded(faults=first.faults)
answer = {
    "faults": first.faults,
    "marginals": found.marginals,
    "title": view.title,
    "remedy": view.faults[0].remedy,
    "again": [step.id for step in again],
}
print(json.dumps(answer))
"""


def test_a_new_fault_is_one_entry_and_the_whole_program_knows_it(tmp_path):
    for part in ("logic", "checklists", "mobile/jobs"):
        shutil.copytree(CHECKOUT / part, tmp_path / part)
    shutil.copy(CHECKOUT / "mobile/__init__.py", tmp_path / "mobile")
    with (tmp_path / "logic/diagnosis/faults.toml").open("a", encoding="utf-8") as faults:
        faults.write(ENTRY)
    run = subprocess.run(
        [sys.executable, "-c", SCRIPT, json.dumps(CASE)],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.returncode == 0, run.stderr
    answer = json.loads(run.stdout)
    assert answer["faults"] == ["engine_speed_hunts"]
    assert answer["marginals"]["engine_speed_hunts"] > 0.5
    assert answer["marginals"].keys() == {*catalogue.faults(), "engine_speed_hunts"}
    assert answer["title"] == "Engine hunts and the alternator with it"
    assert answer["remedy"] == ["Have the idle looked at before anything else is judged."]
    assert "idle_start_battery_voltage" in answer["again"]
