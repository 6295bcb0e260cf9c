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
STAND_INS = CHECKOUT / "tests" / "mobile" / "java"
OURS = CHECKOUT / "mobile" / "android" / "java"


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
    sources = [*STAND_INS.rglob("*.java"), *OURS.rglob("*.java")]
    subprocess.run(["javac", "-d", folder, *sources], check=True)
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
        "signal 180 ms at -1;180 ms at -1; 5 100 26 250;5 100 26 250; 1",
        "silent 0",
        "not signalled 2 2",
        "night False True",
        "light True 1 [(12.5, 'MainThread')] 0",
        "no light sensor False 0",
    ]


LIGHT, DARK = "FFF2EFE6", "FF0E1213"  # the pages' ground (mobile/ui/theme.py)


@pytest.mark.outside
@pytest.mark.parametrize("level", [29, 30, 34, 35, 36])
def test_nothing_is_drawn_under_bars_cutout_and_keyboard(classes, tmp_path, level):
    told = in_a_jvm("activity_in_java.py", classes, level, tmp_path)
    signs = 8192 | 16 if level < 30 else 8 | 16  # View's flags, WindowInsetsController's
    assert told[:11] == [
        "bars [0, 63, 1080, 2274]",  # of 1080 x 2400, under 63 and over 126
        "keyboard [0, 63, 1080, 1500]",
        "keyboard gone [0, 63, 1080, 2274]",
        "cutout [0, 110, 1080, 2274]",
        "small [0, 110, 1080, 820] True",  # wider than high, and SDL draws
        "and after SDL 12 True",  # SCREEN_ORIENTATION_USER_PORTRAIT
        "large 13 True",  # SCREEN_ORIENTATION_FULL_USER
        "and its keyboard [0, 63, 2560, 700]",
        f"at the start ['FFF4F1E8', {bars('FFF4F1E8', level)}, {signs}]",
        f"dark ['{DARK}', {bars(DARK, level)}, 0]",
        f"light ['{LIGHT}', {bars(LIGHT, level)}, {signs}]",
    ]


def bars(colour: str, level: int) -> str:
    painted = colour if level < 35 else "00000000"  # from then on they are clear by themselves
    return f"'{painted}', '{painted}'"


@pytest.mark.outside
def test_the_phone_says_what_it_is_and_what_is_covered(classes, tmp_path):
    assert in_a_jvm("activity_in_java.py", classes, 36, tmp_path)[11] == (
        "facts {'phone': 'Invented Bench phone', 'android': '16, level 36', "
        "'window': '1080 x 2400 pixels', "
        "'covered': 'left 0, top 63, right 0, bottom 126 pixels'}"
    )


@pytest.mark.outside
def test_of_the_apps_own_storage_only_the_shared_file_is_handed_out(classes, tmp_path):
    assert in_a_jvm("activity_in_java.py", classes, 36, tmp_path)[12:] == [
        "shared 1 example.fernhollow.voltwalk.shared application/pdf",
        "read b'%PDF-shared'",
        "named True 11",
        "kept ..%2Fvoltwalk.db java.io.FileNotFoundException",
        "kept .. java.io.FileNotFoundException",
        "kept  java.io.FileNotFoundException",
        "kept %2Fetc%2Fpasswd java.io.FileNotFoundException",
        "kept other.pdf java.io.FileNotFoundException",
        "written java.lang.SecurityException",
        "deleted java.lang.UnsupportedOperationException",
        "forgotten java.io.FileNotFoundException",
        "no longer named 0",
    ]


@pytest.mark.outside
def test_the_phones_own_key_seals_and_a_key_that_has_gone_is_said(classes, tmp_path):
    gone = "it was sealed on another phone, or the app's data were deleted since"
    now = "this phone's signing key now, so this was not saved. Restart the phone, then try again."
    asked = "A new one was made: have another phone of the workshop, or the desk, vouch for it "
    asked += "under 'Keys of the workshop'."
    assert in_a_jvm("key_in_java.py", classes, tmp_path) == [
        "keys made 1",
        "never the same True True 61",  # 1 + 96 bits + 32 bytes + 128 bits (NIST SP 800-38D)
        "opened True True",
        f"changed {gone}",
        f"no seal {gone} {gone}",
        f"silent The phone's key store does not open {now}",
        f"silent The phone's key store does not take {now.replace(' now', '')}",
        "again True",
        f"gone {gone}",
        "anew True",
        f"another's {gone}",
        "made 64 ()",
        "in a worker True",
        f"silent ('', [\"The phone's key store does not open {now}\"])",
        "again True",  # the key was not set aside for a refusal that passed
        f'anew True ("This phone\'s signing key could not be used ({gone}). {asked}",)',
        "kept True",
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
