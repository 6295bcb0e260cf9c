"""Stickers outlive the version that printed them: what a label's numbers mean never changes."""

import ast
import json
import shutil
import subprocess
import sys

import pytest

from logic.case import Reading
from logic.errors import LabelError
from logic.records.label.encoding import Label, decode, encode
from logic.vehicle.points import Point, State
from tests.contract import POINTS, STATES
from tests.logic.records.label.label_samples import body_of, sealed_with, with_checksum
from tests.logic.records.sample_records import callback, commissioning, seal
from tests.paths import CHECKOUT, RELEASES

KEPT = sorted(RELEASES.glob("*.labels.json"))


def test_the_wire_ids_of_release_0_1_0_stay_what_they_were():
    points = {point.wire_id: point.value for point in Point}
    states = {state.wire_id: state.value for state in State}
    assert points.items() >= dict(enumerate(POINTS)).items()
    assert states.items() >= dict(enumerate(STATES)).items()


def test_no_wire_id_is_given_twice_and_each_fits_its_bits():
    given = [point.wire_id for point in Point if point.wire_id is not None]
    assert sorted(set(given)) == sorted(given)
    assert all(0 <= wire_id <= 31 for wire_id in given)
    assert sorted(state.wire_id for state in State) == list(range(len(State)))
    assert len(State) <= 4


def labels(path):
    return [(one["text"], one["says"]) for one in json.loads(path.read_text(encoding="utf-8"))]


def test_labels_of_every_release_are_kept():
    assert [path.name for path in KEPT] >= ["0.1.0.labels.json"]
    read = {(one["point"], one["state"]) for _, says in labels(KEPT[0]) for one in says["readings"]}
    assert read == {(point, state) for point in POINTS for state in STATES}


@pytest.mark.parametrize("path", KEPT, ids=lambda path: path.name)
def test_a_label_of_an_earlier_release_says_what_it_said(path):
    for text, says in labels(path):
        assert decode(text) == Label.model_validate(says)


NEW_POINT = """\
    TRAILER_PLUG_VOLTAGE = (
        "trailer_plug_voltage",
        PointDeclaration(wire_id=31, unit=Unit.VOLT, full_name="Trailer plug voltage"),
    )
"""


def backwards(source, kind, added=""):
    """Return a module's source with an enum's members in reverse, a new one before them."""
    lines = source.splitlines(keepends=True)
    body = next(
        node.body
        for node in ast.parse(source).body
        if isinstance(node, ast.ClassDef) and node.name == kind
    )
    members = [node for node in body if isinstance(node, ast.Assign)]
    parts = ["".join(lines[node.lineno - 1 : node.end_lineno]) for node in members]
    before, after = lines[: members[0].lineno - 1], lines[members[-1].end_lineno :]
    return "".join([*before, added, *reversed(parts), *after])


SCRIPT = """
import json, sys
from tests.logic.records.sample_records import callback, commissioning, seal
from logic.records.label.encoding import Label, decode, encode
from logic.vehicle.points import Point, State
for one in json.load(open(sys.argv[1], encoding="utf-8")):
    if decode(one["text"]) != Label.model_validate(one["says"]):
        sys.exit("an earlier label says something else")
written = [encode(seal(record)) for record in (commissioning(), callback())]
print(json.dumps([[*Point], [*State], written]))
"""


def test_where_a_point_stands_among_the_others_does_not_change_a_label(tmp_path):
    shutil.copytree(CHECKOUT / "logic", tmp_path / "logic", ignore=lambda *_: {"__pycache__"})
    module = tmp_path / "logic/vehicle/points.py"
    source = module.read_text(encoding="utf-8")
    source = backwards(backwards(source, "State"), "Point", NEW_POINT)
    module.write_text(source, encoding="utf-8")
    search = [str(tmp_path), str(CHECKOUT)]
    done = subprocess.run(
        [sys.executable, "-c", f"import sys; sys.path[:0] = {search!r}\n{SCRIPT}", str(KEPT[0])],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    points, states, written = json.loads(done.stdout)
    assert points == ["trailer_plug_voltage", *reversed([*Point])]
    assert states == list(reversed([*State]))
    assert written == [encode(seal(record)) for record in (commissioning(), callback())]


def test_a_point_that_only_a_newer_version_knows_asks_for_an_update():
    spare = next(number for number in range(31, -1, -1) if number not in {p.wire_id for p in Point})
    reading = Reading(point=Point.START_BATTERY_VOLTAGE, state=State.IDLE, value=1.0)
    body = body_of(encode(sealed_with(reading)))
    which = State.IDLE.wire_id << 5 | Point.START_BATTERY_VOLTAGE.wire_id
    assert body[-3] == which  # then 100 hundredths, in two bytes
    body = body[:-3] + bytes([which | spare]) + body[-2:]
    with pytest.raises(LabelError, match=r"newer version.* reading point .*Update"):
        decode(with_checksum(body))
