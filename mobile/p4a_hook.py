"""Called by python-for-android while it packs the app."""

from pathlib import Path
from typing import Any

ENTRY = "from mobile.main import main\n\nmain()\n"

MANIFEST = Path("src", "main", "AndroidManifest.xml")  # in the folder that Gradle builds
PACKAGE = "example.fernhollow.voltwalk"  # the spec's package.domain and package.name
PROVIDER = f"""
        <provider android:name="{PACKAGE}.SharedFiles"
                  android:authorities="{PACKAGE}.shared"
                  android:exported="false"
                  android:grantUriPermissions="true" />
    """
_END = "</application>"


def before_apk_build(toolchain: Any) -> None:
    """Put the ``main.py`` that Android starts at the top of the packed folder.

    The checkout keeps its entry in the ``mobile`` package, so that the desk and the phone
    import the same names.
    """
    (Path(toolchain.args.private) / "main.py").write_text(ENTRY, encoding="utf-8")


def after_apk_build(_toolchain: Any) -> None:
    """Name the provider of shared files in the manifest: its template has no place for one."""
    manifest = MANIFEST.read_text(encoding="utf-8")
    before, end, after = manifest.rpartition(_END)
    if not end:
        raise ValueError(f"{MANIFEST} has no {_END}: the provider of shared files is not named.")
    MANIFEST.write_text(before + PROVIDER + end + after, encoding="utf-8")
