import json
import subprocess
import sys
from pathlib import Path

import pytest
from pypdf import PdfReader

from tests.mobile.ui.pictures import drawing_environment
from tests.paths import CHECKOUT


@pytest.fixture(scope="module")
def left(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What ``voltwalk --demo --tour FOLDER`` leaves on a machine without a display."""
    folder = tmp_path_factory.mktemp("tour")
    environment = drawing_environment()
    environment.pop("SDL_VIDEODRIVER", None)
    command = [sys.executable, "-m", "mobile.main", "--demo", "--tour", str(folder)]
    run = subprocess.run(
        command, cwd=CHECKOUT, env=environment, capture_output=True, text=True, check=False
    )
    assert run.returncode == 0, run.stderr
    assert str(folder) in run.stdout
    return folder


def test_the_tour_leaves_a_picture_of_every_kind_of_screen(left):
    names = {path.stem.split("_", 1)[1] for path in left.glob("*.png")}
    wanted = {
        "vehicles", "plate", "equipment", "vehicle", "stage_engine_idle", "more", "leave_out",
        "step_idle_vehicle_feed_drop", "review", "signing", "front_page", "signature", "record",
        "circuit", "findings", "ladder", "then_and_now", "repair", "proof_asked_for", "closing",
    }  # fmt: skip
    assert wanted <= names
    assert all(path.stat().st_size > 4000 for path in left.glob("*.png"))


def test_the_tour_leaves_the_record_as_pdf_and_as_json(left):
    record = json.loads((left / "record.json").read_text())
    text = "\n".join(page.extract_text() for page in PdfReader(left / "record.pdf").pages)
    assert record["record"]["vehicle"]["registration"] == "BEE 338"
    assert "BEE 338" in text
    assert record["sha256"] in text.replace("\n", "")
    assert "Fernhollow Auto Electrical" in text
