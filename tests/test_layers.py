"""The house rules that a linter does not know: start path, words that may not appear."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

from tests.paths import CHECKOUT

TOP = {"README.md", "DEVELOPERS.md", "pyproject.toml", "mobile", "logic", "checklists", "tests"}
HEAVY = ("numpy", "fpdf", "segno", "PIL", "scipy")


def tracked(*patterns: str) -> list[Path]:
    listed = subprocess.run(
        ["git", "ls-files", *patterns], cwd=CHECKOUT, capture_output=True, text=True, check=True
    )
    return [CHECKOUT / line for line in listed.stdout.splitlines()]


def test_nothing_else_lies_at_the_top():
    top = {path.relative_to(CHECKOUT).parts[0] for path in tracked()}
    assert {name for name in top if not name.startswith(".")} - {"LICENSE"} == TOP


def test_the_sources_name_no_registry_and_no_path_of_a_machine():
    hosts = re.compile("|".join(("py" + "pi.org", "python" + "hosted", "registry." + "npm")))
    folders = re.compile(r"(?<![\w.])/(work|home|root)/\w")
    guilty = [
        str(path.relative_to(CHECKOUT))
        for path in tracked("*.py", "*.kv", "*.toml", "*.md", "*.json", "*.spec", ".ci/*")
        if hosts.search(text := path.read_text(errors="replace")) or folders.search(text)
    ]
    assert guilty == []


@pytest.mark.parametrize(
    "module",
    [
        "logic",
        "logic.case",
        "logic.checklist.form",
        "logic.records.store.store",
        "logic.records.sign_off",
        "logic.limits.verdict",
        "logic.words.entry",
        "mobile.jobs.walk",
        "mobile.jobs.workplace",
        "mobile.main",
    ],
)
def test_what_the_app_needs_to_open_brings_nothing_heavy(module):
    script = (
        f"import sys, {module}\n"
        f"print(*sorted({{name.partition('.')[0] for name in sys.modules}} & set({HEAVY!r})))"
    )
    run = subprocess.run(
        [sys.executable, "-c", script], cwd=CHECKOUT, capture_output=True, text=True, check=True
    )
    assert run.stdout.strip() == ""


def test_the_first_screen_waits_for_no_model_of_events_and_records(tmp_path):
    making = (
        "import sys\n"
        "from pathlib import Path\n"
        "from mobile.jobs.workplace import Workplace\n"
        "Workplace(Path(sys.argv[1]), Path()).store.close()\n"
    )
    first_screen = (
        "import sys\n"
        "from pathlib import Path\n"
        "from mobile.jobs import under_way\n"
        "from mobile.jobs.workplace import Workplace\n"
        "from mobile.ui import toolkit\n"
        "toolkit.prepare(offscreen=True, own_home=True)\n"
        "import mobile.ui.app, mobile.ui.screens.home\n"
        "work = Workplace(Path(sys.argv[1]), Path())\n"
        "work.store_file.find_vehicles()\n"
        "under_way.unfinished_set_ups(work.store_file)\n"
        "under_way.job_under_way(work)\n"
        "work.close()\n"
        "print(*sorted({'pydantic', 'sqlite_utils', 'logic.records.events'} & set(sys.modules)))\n"
    )
    printed = [
        subprocess.run(
            [sys.executable, "-c", one, str(tmp_path)],
            cwd=CHECKOUT,
            capture_output=True,
            text=True,
            check=True,
        ).stdout.strip()
        for one in (making, first_screen)
    ]
    assert printed == ["", ""]


def test_the_case_and_the_diagnosis_are_reached_from_logic_itself():
    import logic

    case = logic.Case.model_validate_json(
        '{"installation": {"charger": {"rated_output_current_a": 25},'
        ' "house_battery": {"chemistry": "agm", "capacity_ah": 100}}}'
    )
    assert case.installation.nominal_voltage_v == 12
    assert callable(logic.diagnose)
    with pytest.raises(AttributeError, match="no attribute 'something_else'"):
        _ = logic.something_else
