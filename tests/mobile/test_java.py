"""What the phone asks of Java, asked of a JVM here, by the same pyjnius.

ZXing's classes are Debian's build of the release that the phone package takes. Android's own
classes are stand-ins under ``java/`` with the signatures and the behaviour that its reference
documents; the listeners are python-for-android's own module. Each runs in a process of its own:
a JVM cannot be started twice, and where something is wrong it ends the process.
"""

import subprocess
import sys
from configparser import ConfigParser
from pathlib import Path

import pytest

from tests.paths import CHECKOUT

ZXING = Path("/usr/share/java/core.jar")  # of Debian's libzxing-core-java
SOURCES = CHECKOUT / "tests" / "mobile" / "java"


def in_a_jvm(script: str, *arguments: object) -> list[str]:
    run = subprocess.run(
        [sys.executable, str(CHECKOUT / "tests" / "mobile" / script), *map(str, arguments)],
        cwd=CHECKOUT,
        capture_output=True,
        text=True,
        check=False,
        env={"PYTHONPATH": str(CHECKOUT), "PATH": "/usr/bin:/bin"},
    )
    assert run.returncode == 0, run.stdout + run.stderr
    return run.stdout.splitlines()


@pytest.fixture(scope="module")
def classes(tmp_path_factory):
    folder = tmp_path_factory.mktemp("classes")
    subprocess.run(["javac", "-d", folder, *SOURCES.rglob("*.java")], check=True)
    return folder


@pytest.mark.outside
def test_null_intents_and_refusals_of_android_end_nothing(classes):
    import pythonforandroid

    recipes = Path(pythonforandroid.__file__).parent / "recipes"
    listeners = recipes / "android" / "src" / "android" / "activity.py"
    assert in_a_jvm("device_in_java.py", classes, listeners) == [
        "camera cancelled [False] 0",
        "camera done [False, True] 0",
        "nothing chosen [] 0",
        "chosen ['content://docs/3'] 0",
        "vanished The photo is not on the phone any more. Take it again.",
        "not handed over The file cannot be opened. Save it on this phone, then choose it again.",
        "no camera No camera app opens on this phone. Go on without the photo. 0",
        "no picker The phone's file picker does not open. Restart the phone, then try again. 0",
        "not deleted The camera's own copy could not be deleted. Delete it in the phone's gallery.",
        "no room The phone has no room for a photo. Free some storage, then try again.",
    ]


@pytest.mark.outside
def test_the_phones_decoder_reads_a_photographed_label():
    assert in_a_jvm("label_in_java.py", ZXING) == [
        "held still: read",
        "askew, blurred, badly lit, with glare: read",
        "upside down: read",
        "far away: read",
        "the longest label: read",
        "no label: No code can be read",
        "in another thread: read",
    ]


def test_the_phones_decoder_is_of_the_release_that_the_tests_call():
    parser = ConfigParser(interpolation=None)
    parser.read(CHECKOUT / "mobile" / "buildozer.spec")
    group, name, version = parser["app"]["android.gradle_dependencies"].split(":")
    assert (group, name) == ("com.google.zxing", "core")
    assert (ZXING.parent / f"core-{version}.jar").resolve() == ZXING.resolve()
