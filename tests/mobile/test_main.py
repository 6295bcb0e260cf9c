import subprocess
import sys
import time

import pytest

from mobile.main import main
from tests.mobile.ui.pictures import drawing_environment


def test_the_command_opens_the_app_on_a_store_and_keeps_running(tmp_path):
    store = tmp_path / "store"
    process = subprocess.Popen(
        [sys.executable, "-OO", "-m", "mobile.main", "--store", str(store)],
        env=drawing_environment()
        | {"SDL_VIDEODRIVER": "offscreen", "KIVY_HOME": str(tmp_path / "kivy")},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        end = time.monotonic() + 30
        while not (store / "voltwalk.db").exists() and time.monotonic() < end:
            time.sleep(0.05)
        time.sleep(1)
        assert process.poll() is None
    finally:
        process.kill()
        told = process.communicate()[1]
    assert (store / "voltwalk.db").exists()
    assert "mobile/ui/app.py" not in told, told


def test_the_command_says_what_it_takes(capsys):
    with pytest.raises(SystemExit) as left:
        main(["--help"])
    assert left.value.code == 0
    told = capsys.readouterr().out
    assert all(option in told for option in ("--demo", "--store", "--tour"))
