import json
import subprocess
import sys

import pytest

import logic
from logic.case import Case, Diagnosis, Reading
from logic.records.events import CauseConcluded
from logic.records.store.store import Store
from logic.vehicle.points import Point, State
from tests.logic.records import sample_records, scenes
from tests.paths import CHECKOUT

CASE = {
    "installation": sample_records.LIBRARY_VAN.model_dump(mode="json"),
    "readings": [
        {"point": "house_battery_voltage", "state": "rest", "value": 12.31},
        {"point": "vehicle_return_drop", "state": "idle", "value": 0.92},
        {"point": "input_current", "state": "idle", "value": 28.9},
    ],
}


def test_diagnose_prints_exactly_the_librarys_answer(run, tmp_path):
    path = tmp_path / "case.json"
    path.write_text(json.dumps(CASE), encoding="utf-8")
    expected = logic.diagnose(Case.model_validate(CASE)).model_dump_json()
    assert run("diagnose", str(path)).stdout == expected + "\n"
    assert run("diagnose", "-", input=json.dumps(CASE)).stdout == expected + "\n"


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16"])
def test_a_case_redirected_by_another_system_is_read(run, encoding):
    assert run("diagnose", "-", input=json.dumps(CASE).encode(encoding)).stdout.startswith("{")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "Correct it"),
        ("[]", "Correct it"),
        ('{"installation": {}}', "installation.charger"),
        ("[" * 5000, "Correct it"),
    ],
)
def test_a_broken_case_is_one_clear_line(run, text, said):
    result = run("diagnose", "-", input=text, status=1)
    assert said in result.stderr
    assert len(result.stderr.strip().splitlines()) == 1
    assert result.stdout == ""


def test_diagnose_starts_without_the_store_or_the_printer():
    probe = (
        "import sys; from logic.desk.main import office; office.get_command(None, 'diagnose');"
        "print([m for m in ('sqlite_utils', 'fpdf', 'segno', 'PIL', 'pypdf') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", probe], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_as_a_program_it_writes_utf_8_whatever_the_locale(tmp_path):
    path = tmp_path / "case.json"
    path.write_text(json.dumps(CASE), encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-m", "logic.desk.main", "diagnose", str(path)],
        capture_output=True,
        check=True,
        env={"PYTHONIOENCODING": "ascii", "PATH": ""},
        cwd=CHECKOUT,
    )
    assert Diagnosis.model_validate_json(done.stdout).findings


def test_stats_count_jobs_faults_installers_and_minutes(run, folder):
    with Store.open(folder) as store:
        vehicle = scenes.van(store, "SAW 051")
        job = scenes.open_job(store, vehicle, "callback")
        found = CauseConcluded(
            faults=("vehicle_return_resistive",),
            cause="paint",
            repair="cleaned",
            responsibility="wiring",
        )
        after = (Reading(point=Point.VEHICLE_RETURN_DROP, state=State.IDLE, value=0.11),)
        record = scenes.record_of(
            vehicle, job, job_kind="callback", conclusion=found, steps=(), readings_after=after
        )
        store.seal(record, scenes.private())
        unsound = scenes.van(store, "HUT 001")
        job = scenes.open_job(store, unsound)
        current = sample_records.judged("input_current", "idle", 31, (None, None))
        steps = (
            *sample_records.commissioning_steps("a" * 64),
            sample_records.reading("engine_idle", "Input current", current),
        )
        store.seal(scenes.record_of(unsound, job, steps=steps), scenes.private())
    counted = json.loads(run("stats", "--json").output)
    assert counted["jobs"] == {"commissioning": 3, "callback": 1}
    assert counted["faults"] == {"vehicle_return_resistive": 1}
    assert counted["responsibilities"] == {"wiring": 1}
    (installer,) = counted["installers"].values()
    assert installer["out_of_range"] == 1
    # By hand: 0.92 V at 31 A is 29.7 mΩ.
    assert installer["median_milliohms"] == {"vehicle_return": 29.7}
    assert installer["most_often"] == {"vehicle_return_drop": 1}
    assert counted["minutes"]["commissioning"] == {"median": 20.0, "longest": 20.0}
    assert "High resistance in the vehicle return  1" in run("stats").output
