"""A new reading point is one declaration: whatever nobody taught about it, nothing breaks."""

import shutil
import subprocess
import sys

from tests.paths import CHECKOUT

# One of every kind, beside its siblings rather than at the end.
DECLARED = """\
    RETURN_TO_BODY_VOLTAGE = (
        "return_to_body_voltage",
        PointDeclaration(
            wire_id=31,
            unit=Unit.VOLT,
            full_name="Charger negative to start battery +",
            red=Post.START_BATTERY_POSITIVE,
            black=Post.CHARGER_NEGATIVE,
        ),
    )
    SOLAR_FEED_DROP = "solar_feed_drop", _drop(30, Run.SOLAR_FEED)
    TRAILER_CURRENT = (
        "trailer_current",
        PointDeclaration(
            wire_id=29,
            unit=Unit.AMPERE,
            full_name="Current to the trailer",
            clamp_on=Part.IGNITION_SOURCE,
            towards="trailer",
        ),
    )
    ALTERNATOR_TEMPERATURE = (
        "alternator_temperature",
        PointDeclaration(
            wire_id=28, unit=Unit.CELSIUS, full_name="Alternator temperature"
        ),
    )
    SHADE_FRACTION = (
        "shade_fraction",
        PointDeclaration(
            wire_id=27,
            unit=Unit.SHARE,
            full_name="Shade, judged by eye",
            part=Part.SOLAR_PANEL,
            needs=Extra.SOLAR,
        ),
    )
    SOLAR_INDICATOR = (
        "solar_indicator",
        PointDeclaration(wire_id=26, unit=Unit.LIT, full_name="Solar indicator"),
    )
"""
BEFORE = '    CHARGER_INPUT_VOLTAGE = (\n        "charger_input_voltage",\n'


def test_a_point_that_is_only_declared_can_be_typed_judged_stored_printed_and_put_on_a_label(
    tmp_path,
):
    shutil.copytree(CHECKOUT / "logic", tmp_path / "logic", ignore=lambda *_: {"__pycache__"})
    module = tmp_path / "logic/vehicle/points.py"
    source = module.read_text(encoding="utf-8")
    assert source.count(BEFORE) == 1
    module.write_text(source.replace(BEFORE, DECLARED + BEFORE), encoding="utf-8")
    search = [str(tmp_path), str(CHECKOUT)]
    start = f"import sys; sys.path[:0] = {search!r}; import tests.logic.vehicle.new_points"
    done = subprocess.run(
        [sys.executable, "-c", start, str(tmp_path / "store")],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip() == "6"
