"""What DEVELOPERS.md says of adding a thing, done in a copy of the tree.

Each test touches only the files that its paragraph names, then runs the checks that matter.
"""

import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from fnmatch import fnmatch
from pathlib import Path

import pytest

from tests.paths import CHECKOUT

GUIDE = (CHECKOUT / "DEVELOPERS.md").read_text(encoding="utf-8")


class Contributor:
    """Changes a copy of the tree where a paragraph of the guide allows it."""

    def __init__(self, tree: Path) -> None:
        self.tree = tree
        self.touched: set[str] = set()
        self._named: tuple[str, ...] = ()

    def follows(self, what: str) -> None:
        paragraph = re.search(rf"^\* \*\*{what}\*\*.*?(?=^\* \*\*|^## )", GUIDE, re.S | re.M)
        assert paragraph, f"the guide has no paragraph on {what}"
        self._named = tuple(re.findall(r"`([\w/<>.]+\.(?:toml|py))`", paragraph[0]))

    def _open(self, file: str) -> Path:
        patterns = [re.sub(r"<\w+>", "*", name) for name in self._named]
        assert any(fnmatch(file, pattern) for pattern in patterns), f"{file}: not in {patterns}"
        self.touched.add(file)
        return self.tree / file

    def appends(self, file: str, text: str) -> None:
        path = self._open(file)
        path.write_text(path.read_text(encoding="utf-8") + text, encoding="utf-8")

    def writes(self, file: str, after: str, text: str) -> None:
        path = self._open(file)
        before, found, behind = path.read_text(encoding="utf-8").partition(after)
        assert found, f"{file} has no {after!r}"
        path.write_text(before + found + text + behind, encoding="utf-8")

    def puts(self, file: str, text: str, before: str) -> None:
        path = self._open(file)
        source = path.read_text(encoding="utf-8")
        assert before in source, f"{file} has no {before!r}"
        path.write_text(source.replace(before, text + before, 1), encoding="utf-8")

    def runs(self, *arguments: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, *arguments],
            cwd=self.tree,
            capture_output=True,
            text=True,
            check=False,
        )

    def tests(self, *paths: str) -> subprocess.CompletedProcess[str]:
        return self.runs(
            "-m", "pytest", "-q", "-x", "-p", "no:cacheprovider", "-o", "addopts=", *paths
        )


@pytest.fixture
def contributor(tmp_path: Path) -> Iterator[Contributor]:
    tree = tmp_path / "tree"
    left_out = shutil.ignore_patterns("__pycache__", "releases", "benchmarks", "pictures", "assets")
    for name in ("logic", "mobile", "checklists", "tests"):
        shutil.copytree(CHECKOUT / name, tree / name, ignore=left_out)
    shutil.copy(CHECKOUT / "pyproject.toml", tree)
    yield Contributor(tree)
    shutil.rmtree(tree)


def ends_well(run: subprocess.CompletedProcess[str]) -> bool:
    assert run.returncode == 0, run.stdout[-3000:] + run.stderr[-1000:]
    return True


STEP = """
[[steps]]
id = "{id}"
title = "Look at the drain holes"
why = "Water that stands in a battery tray finds its way into the terminals."
how = "Look under the tray. Clear what blocks the holes."
ask = {{ kind = "yes_no", question = "Are the drain holes clear?" }}
"""


def test_a_step_is_one_table_in_its_stage(contributor: Contributor) -> None:
    contributor.follows("A step")
    stage = "checklists/commissioning/before_power.toml"
    contributor.appends(stage, STEP.format(id="drain_holes"))
    assert ends_well(contributor.tests("tests/checklists", "tests/logic/checklist/test_form.py"))
    assert contributor.touched == {stage}


def test_steps_beyond_the_budget_are_refused_with_what_to_do(contributor: Contributor) -> None:
    contributor.follows("A step")
    for number in range(30):
        step = STEP.format(id=f"drain_hole_{number}")
        contributor.appends("checklists/commissioning/before_power.toml", step)
    refused = contributor.tests("tests/checklists", "-k", "budget")
    assert refused.returncode == 1
    assert "over its budget" in refused.stdout
    assert "raise budget_minutes" in refused.stdout


FAULT = """
[[fault]]
id = "vehicle_isolator_open"
title = "Isolator open in the vehicle feed"
short = "vehicle isolator"
responsibility = "use"
common = 1.0
source = "assumed: as common as any other"
remedy = ["Close the isolator, and ask who opened it."]
customer = "The isolator between start battery and charger was open."
repair_check = [{ point = "charger_input_voltage", state = "idle" }]
parts = ["vehicle_feed"]

[[fault.way]]
opens = ["vehicle_feed"]
loose = { charger_input_voltage = 0.3, vehicle_return_drop = 0.1 }
"""
DIAGNOSED = """
import json, sys
from pathlib import Path
import logic
from logic.diagnosis.catalogue import faults
case = logic.Case.from_json(Path("tests/golden/library_van_case.json").read_text())
dead = [{"point": "charger_input_voltage", "state": "idle", "value": 0.1}]
told = {**json.loads(case.model_dump_json()), "readings": dead, "baseline": []}
found = logic.diagnose(logic.Case.model_validate(told))
assert found.marginals["vehicle_isolator_open"] > 0.05, found.marginals
assert any("vehicle_isolator_open" in one.faults for one in found.findings)
assert faults()["vehicle_isolator_open"].short == "vehicle isolator"
"""


def test_a_fault_of_a_known_kind_is_one_entry_of_the_catalogue(contributor: Contributor) -> None:
    contributor.follows("A fault")
    contributor.appends("logic/diagnosis/faults.toml", FAULT)
    assert ends_well(contributor.runs("-c", DIAGNOSED))
    assert ends_well(contributor.tests("tests/logic/diagnosis/test_fault_catalogue.py"))
    assert len(contributor.touched) <= 2


POINT = """
    NEGATIVE_POSTS_DIFFERENCE = (
        "negative_posts_difference",
        PointDeclaration(
            wire_id=31,
            unit=Unit.VOLT,
            decimals=3,
            full_name="Difference of the negative posts",
            red=Post.HOUSE_BATTERY_NEGATIVE,
            black=Post.START_BATTERY_NEGATIVE,
        ),
    )"""
LIMIT = '''
def negative_posts_difference(loop: LoopState) -> Expectation:
    """No more than both returns may lose together."""
    most = 0.6 * loop.scale  # assumed
    return Expectation(low=-most, high=most, why="both returns together lose no more")


'''
PREDICTED = """

def _negative_posts(at: StateSolution, true: Array, slope: Array, _loose: Array) -> None:
    for point in (Point.HOUSE_RETURN_DROP, Point.VEHICLE_RETURN_DROP):
        true += at.output(point)
        slope += at.output_slopes(point)[:, 0]
"""
JUDGED = """
import logic
from logic.case import Reading
from logic.limits.verdict import judge
from logic.words.entry import parse_reading
from logic.vehicle.points import Point, State
from pathlib import Path
case = logic.Case.from_json(Path("tests/golden/library_van_case.json").read_text())
point = Point("negative_posts_difference")
assert parse_reading("0.31", point, 12).value == 0.31
taken = Reading(point=point, state=State.IDLE, value=5.0)
verdict = judge(case.installation, (), taken)
assert verdict.verdict == "out_of_range", verdict
assert "both returns" in verdict.reason
told = [r for r in case.readings if "return" not in r.point]
plain = logic.diagnose(case.model_copy(update={"readings": tuple(told), "baseline": ()}))
readings = (*told, taken.model_copy(update={"value": 1.4}))
found = logic.diagnose(case.model_copy(update={"readings": readings, "baseline": ()}))
assert len(found.verdicts) == len(readings)
returns = ("vehicle_return_resistive", "house_return_resistive")
lost = [sum(one.marginals[fault] for fault in returns) for one in (plain, found)]
assert lost[1] > lost[0] + 0.1, lost
"""


def test_a_reading_point_is_one_declaration_its_limit_and_its_prediction(
    contributor: Contributor,
) -> None:
    contributor.follows("A reading point")
    above = '"""What is read; for voltages, between which two posts."""\n'
    contributor.writes("logic/vehicle/points.py", above, POINT)
    table = "EXPECTED: Mapping[Point, Callable[[LoopState], Expectation]] = {"
    entry = "\n    Point.NEGATIVE_POSTS_DIFFERENCE: negative_posts_difference,"
    contributor.puts("logic/limits/loop_points.py", LIMIT, before=table)
    contributor.writes("logic/limits/loop_points.py", table, entry)
    table = "OWN_MODELS: dict[Point, OwnModel] = {"
    entry = "\n    Point.NEGATIVE_POSTS_DIFFERENCE: _negative_posts,"
    contributor.puts("logic/diagnosis/prediction.py", PREDICTED, before=table)
    contributor.writes("logic/diagnosis/prediction.py", table, entry)
    assert ends_well(contributor.runs("-m", "logic.checklist.schema", "checklists"))
    assert ends_well(contributor.runs("-c", JUDGED))
    assert ends_well(
        contributor.tests("tests/logic/vehicle", "tests/logic/checklist/test_schema.py")
    )
    assert len(contributor.touched) <= 3


PRESET = """
[[presets]]
id = "panel_55w_12v"
title = "55 W, 12 V type"
source = "assumed: 36 cells in series, 22 V open, 18.2 V at most power"
[presets.fills.solar]
rated_power_w = 55
open_circuit_voltage_v = 22.0
short_circuit_current_a = 3.2
max_power_voltage_v = 18.2
"""


def test_a_preset_is_one_table_in_its_groups_file(contributor: Contributor) -> None:
    contributor.follows("A preset, a caution, a symptom")
    contributor.appends("checklists/presets/panels.toml", PRESET)
    assert ends_well(contributor.tests("tests/logic/checklist/test_presets.py"))
    assert contributor.touched == {"checklists/presets/panels.toml"}
