"""What Gradle would be given: manifest, resources, the packed app, as the build lays them.

buildozer's own code copies and commands, our hooks run, and python-for-android's own script packs
and renders (``tests/phone/staging.py``). ``tests/phone/resources.py`` goes on from there: it
compiles and links the resources.
"""

import subprocess
import sys
import tarfile
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from tests.paths import CHECKOUT

ANDROID = "{http://schemas.android.com/apk/res/android}"
PACKAGE = "example.fernhollow.voltwalk"


@pytest.fixture(scope="module")
def staged(tmp_path_factory):
    folder = tmp_path_factory.mktemp("staged")
    run = subprocess.run(
        [sys.executable, str(CHECKOUT / "tests" / "phone" / "staging.py"), str(folder)],
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.returncode == 0, run.stdout[-2000:] + run.stderr[-2000:]
    return Path(run.stdout.splitlines()[-1])


@pytest.fixture(scope="module")
def manifest(staged):
    return ET.parse(staged / "src" / "main" / "AndroidManifest.xml").getroot()


def the(manifest, tag: str) -> dict[str, str]:
    [found] = manifest.iter(tag)
    return {name.removeprefix(ANDROID): value for name, value in found.attrib.items()}


@pytest.mark.outside
def test_the_app_asks_for_nothing_but_to_vibrate_and_for_the_levels_of_the_spec(manifest):
    # Given to every app at install, without a question (Android's reference: "normal").
    asked = [one.get(f"{ANDROID}name") for one in manifest.iter("uses-permission")]
    assert asked == ["android.permission.VIBRATE"]
    assert the(manifest, "uses-sdk") == {"minSdkVersion": "29", "targetSdkVersion": "36"}


@pytest.mark.outside
def test_only_its_first_screen_can_be_opened_from_outside(manifest):
    activity = the(manifest, "activity")
    assert activity["name"] == f"{PACKAGE}.VoltwalkActivity"
    assert activity["exported"] == "true"
    assert the(manifest, "category") == {"name": "android.intent.category.LAUNCHER"}
    assert the(manifest, "action") == {"name": "android.intent.action.MAIN"}
    assert the(manifest, "provider") == {
        "name": f"{PACKAGE}.SharedFiles",
        "authorities": f"{PACKAGE}.shared",
        "exported": "false",
        "grantUriPermissions": "true",
    }
    assert {one.tag for one in manifest.find("application")} <= {
        "meta-data",
        "activity",
        "provider",
    }


@pytest.mark.outside
def test_the_classes_that_the_manifest_names_are_given_to_gradle(staged, manifest):
    [line] = [
        one for one in (staged / "build.gradle").read_text().splitlines() if "srcDir '/" in one
    ]
    sources = Path(line.split("'")[1])
    for name in (the(manifest, "activity")["name"], the(manifest, "provider")["name"]):
        path = sources / f"{name.replace('.', '/')}.java"
        assert f"package {PACKAGE};" in path.read_text()


@pytest.mark.outside
def test_records_go_into_no_backup_and_to_no_other_phone_by_themselves(staged, manifest):
    application = the(manifest, "application")
    assert application["allowBackup"] == "false"
    name = application["dataExtractionRules"].removeprefix("@xml/")
    rules = ET.parse(staged / "src" / "main" / "res" / "xml" / f"{name}.xml").getroot()
    # All of an app's own storage, by the domains of Android's reference for these rules.
    everything = {"root", "file", "database", "sharedpref", "external"}
    assert {one.tag for one in rules} == {"cloud-backup", "device-transfer"}
    for one in rules:
        assert {rule.get("domain") for rule in one if rule.tag == "exclude"} == everything


@pytest.mark.outside
def test_the_back_key_still_reaches_kivy(manifest):
    # From target 36 on it is sent no longer unless this is said (Android 16's behaviour changes).
    assert the(manifest, "application")["enableOnBackInvokedCallback"] == "false"


@pytest.mark.outside
def test_the_icon_adapts_to_the_phones_own_shape(staged):
    from PIL import Image

    resources = staged / "src" / "main" / "res"
    assert "@mipmap/icon_foreground" in (resources / "mipmap-anydpi-v26" / "icon.xml").read_text()
    drawn = Image.open(resources / "mipmap" / "icon_foreground.png")
    # 108 dp, of which a circle of 66 dp in the middle is never cut off (Android's reference,
    # "Adaptive icons").
    half, safe = drawn.width / 2, drawn.width / 2 * 66 / 108
    solid = [
        (x, y)
        for x in range(drawn.width)
        for y in range(drawn.height)
        if drawn.getpixel((x, y))[3] > 8
    ]
    assert max((x + 0.5 - half) ** 2 + (y + 0.5 - half) ** 2 for x, y in solid) <= safe**2
    assert Image.open(resources / "mipmap" / "icon_background.png").size == drawn.size


@pytest.mark.outside
def test_the_app_is_packed_whole_and_nothing_else_is(staged):
    with tarfile.open(staged / "src" / "main" / "assets" / "private.tar") as packed:
        names = {one.name for one in packed if one.isfile()}
    tracked = subprocess.run(
        ["git", "ls-files", "logic", "mobile/ui", "mobile/jobs", "mobile/assets", "checklists"],
        cwd=CHECKOUT,
        capture_output=True,
        text=True,
        check=True,
    ).stdout.splitlines()
    left_out = (
        ".md",
        "LICENCE.txt",
    )  # the fonts' licence is packed as the notices' dejavu-sans.txt
    assert {name for name in tracked if not name.endswith(left_out)} - names == set()
    rooms = {name.split("/")[0] for name in names if "/" in name}
    assert rooms == {"logic", "mobile", "checklists"}
    for unpacked in ("mobile/demo", "mobile/pictures", "mobile/android", "mobile/recipes"):
        assert not any(name.startswith(f"{unpacked}/") for name in names)
