import subprocess
import sys
import time

import pytest

from mobile.main import main
from tests.mobile.ui.pictures import drawing_environment
from tests.paths import CHECKOUT


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


COLLECTOR = """
import gc, sys
from pathlib import Path
from mobile.main import app_on
from mobile.ui import toolkit
toolkit.prepare(offscreen=True, own_home=True)
app = app_on(Path(sys.argv[1]))
while_built = gc.isenabled()
from kivy.clock import Clock
def shown(_):
    print(while_built, gc.isenabled())
    app.stop()
def started(_):
    Clock.schedule_once(shown, 0)  # returned, it would keep the app from its own start
app.bind(on_start=started)
app.run()
"""


def test_the_garbage_collector_rests_until_the_first_screen_and_no_longer(tmp_path):
    run = subprocess.run(
        [sys.executable, "-c", COLLECTOR, str(tmp_path / "store")],
        cwd=CHECKOUT,
        env=drawing_environment(),
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.returncode == 0, run.stderr
    assert run.stdout.split() == ["False", "True"]


def test_the_command_says_what_it_takes(capsys):
    with pytest.raises(SystemExit) as left:
        main(["--help"])
    assert left.value.code == 0
    told = capsys.readouterr().out
    assert all(option in told for option in ("--demo", "--store", "--tour"))
