"""Compile, link and sign what Gradle would: our manifest and resources against Android's own.

    python -m tests.phone.resources FRAMEWORK

FRAMEWORK is ``framework-res.apk`` of Android 14 or later, from Debian's package
``android-framework-res`` 1:14 or later (60 MB; ``apt-get download`` and ``dpkg -x`` will do). Needs
Debian's ``aapt`` (for aapt2), ``apksigner`` and a JDK. Takes ten seconds.

Proves that every attribute and reference in the manifest exists in Android, that the resources are
in the form that Android takes, and that a package made of them can be signed and verified. It holds
no code: that takes Gradle, an SDK and an NDK.
"""

import re
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.phone import staging

PACKAGE = "example.fernhollow.voltwalk"
_GIVEN = "android.permission.VIBRATE"  # every app has it that names it


def run(*command: object) -> str:
    """Run a command and return what it says; end with its words where it fails."""
    done = subprocess.run(
        [str(one) for one in command], capture_output=True, text=True, check=False
    )
    if done.returncode:
        sys.exit(f"{command[0]} failed:\n{done.stdout}{done.stderr}")
    return done.stdout


def linked(folder: Path, framework: Path) -> Path:
    """Return the package that aapt2 makes of the staged manifest and resources."""
    staged = Path(run(sys.executable, staging.__file__, folder / "staged").splitlines()[-1])
    main = staged / "src" / "main"
    # Gradle takes the package from its own file; aapt2 by itself wants it in the manifest.
    stated = (
        (main / "AndroidManifest.xml")
        .read_text()
        .replace("<manifest ", f'<manifest package="{PACKAGE}" ', 1)
    )
    manifest = folder / "AndroidManifest.xml"
    manifest.write_text(stated)
    resources, package = folder / "resources.zip", folder / "voltwalk.apk"
    for hidden in (main / "res").rglob(".gitkeep"):
        hidden.unlink()
    run("aapt2", "compile", "--dir", main / "res", "-o", resources)
    run("aapt2", "link", "-I", framework, "--manifest", manifest, "-o", package, resources)
    return package


def signed(folder: Path, package: Path) -> str:
    """Sign with a key made for it, and return how many of Android's schemes then verify."""
    keys = folder / "keys.p12"
    name, word = "CN=Fernhollow Auto Electrical", "invented"
    secret = ["-keystore", keys, "-storepass", word, "-alias", "release"]
    run("keytool", "-genkeypair", "-keyalg", "RSA", "-keysize", "3072", "-dname", name, *secret)
    run("apksigner", "sign", "--ks", keys, "--ks-pass", f"pass:{word}", package)
    said = run("apksigner", "verify", "--verbose", package)
    schemes = re.findall(r"using (v[23]) scheme.*: true", said)
    return f"signed: {', '.join(schemes)}"


def main(framework: Path) -> None:
    """Do all of it and say what came out."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        package = linked(folder, framework)
        badging = run("aapt2", "dump", "badging", package)
        asked = re.findall(r"uses-permission.*", badging)
        for wanted in ("sdkVersion:'29'", "targetSdkVersion:'36'", "launchable-activity: name="):
            if wanted not in badging:
                sys.exit(f"{wanted} is not in the package:\n{badging}")
        tree = run("aapt2", "dump", "xmltree", "--file", "AndroidManifest.xml", package)
        unresolved = re.findall(r"android:\w+=.*", tree)
        if [one for one in asked if _GIVEN not in one] or unresolved:
            sys.exit(f"The package asks for or leaves open: {asked}{unresolved}")
        print(f"permissions: to vibrate; Android's attributes: {tree.count('schemas.android.com')}")
        print(signed(folder, package))


if __name__ == "__main__":
    main(Path(sys.argv[1]))
