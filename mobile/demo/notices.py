"""Collect the notices of everything that the phone package carries.

    python -m mobile.demo.notices      write mobile/assets/notices.toml and mobile/assets/licences/

Licence texts come from the installed packages themselves; run it after a version changes. What
python-for-android's recipes or Gradle bring and pip does not is listed in :data:`FROM_RECIPES`.
"""

import re
import sysconfig
from importlib.metadata import Distribution, PackageNotFoundError, distribution
from importlib.resources import files
from pathlib import Path
from typing import NamedTuple

MOBILE = Path(__file__).resolve().parents[1]
ASSETS = MOBILE / "assets"
SPEC = MOBILE / "buildozer.spec"

# SPDX ids of packages whose own metadata do not say one.
STATED_ELSEWHERE = {
    "click_default_group": "BSD-3-Clause",
    "defusedxml": "PSF-2.0",
    "numpy": "BSD-3-Clause",
    "pypdf": "BSD-3-Clause",
    "rfc8785": "Apache-2.0",
    "segno": "BSD-3-Clause",
    "sqlite_fts4": "Apache-2.0",
}
USED_FOR = {
    "annotated_types": "limits of a field",
    "click": "the desk's command line",
    "click_default_group": "comes with sqlite-utils",
    "cryptography": "the technician's signature",
    "defusedxml": "comes with fpdf2",
    "fonttools": "fonts in the printed record",
    "fpdf2": "writing the printed record; used as an unchanged library",
    "kivy": "screens and touch",
    "numpy": "the diagnosis",
    "pillow": "photos and the label's picture",
    "pluggy": "comes with sqlite-utils",
    "pycparser": "comes with cryptography",
    "pydantic": "checking every value",
    "pydantic_core": "comes with pydantic",
    "pypdf": "reading a printed record back; on the desk only",
    "python_dateutil": "comes with sqlite-utils",
    "rfc8785": "the seal's canonical text",
    "segno": "the label's code",
    "sqlite_fts4": "comes with sqlite-utils",
    "sqlite_utils": "the store",
    "tabulate": "comes with sqlite-utils",
    "typing_extensions": "comes with pydantic",
    "typing_inspection": "comes with pydantic",
    "tzdata": "time zones",
    "zxing_cpp": "reading the label's code; on the desk only",
}
ON_THE_DESK_ONLY = ("pypdf", "zxing_cpp")
BROUGHT_BY_RECIPES = ("pycparser",)
DEBIAN_TEXTS = Path("/usr/share/common-licenses")

FROM_RECIPES = (
    ("Python", "PSF-2.0", "the language itself"),
    ("pyjnius", "MIT", "talking to Android"),
    ("SDL, SDL_image, SDL_mixer, SDL_ttf", "Zlib", "the window on the phone"),
    ("SQLite", "blessing", "the store's file"),
    ("OpenSSL", "Apache-2.0", "comes with Python"),
    ("libffi", "MIT", "comes with Python"),
    ("cffi", "MIT", "comes with cryptography"),
    ("ZXing core", "Apache-2.0", "reading the label's code on the phone"),
)


def package_names() -> list[str]:
    """Return the pip names of the phone's list that are installed here."""
    line = next(one for one in SPEC.read_text().splitlines() if one.startswith("requirements"))
    listed = [entry.split("==")[0].strip() for entry in line.partition("=")[2].split(",")]
    names = {name.replace("-", "_") for name in listed} - {"python3", "pyjnius"}
    return sorted(names | set(ON_THE_DESK_ONLY) | set(BROUGHT_BY_RECIPES))


def licence_of(name: str, found: Distribution) -> str:
    """Return a package's SPDX licence id as its metadata state it."""
    stated = found.metadata["License-Expression"] or STATED_ELSEWHERE.get(name, "")
    short = found.metadata["License"] or ""
    licence = stated or (short if len(short) < 30 else "")
    if not licence:
        raise SystemExit(f"{name} states no licence: look it up and add it to STATED_ELSEWHERE")
    return {"Apache License, Version 2.0": "Apache-2.0"}.get(licence, licence)


def text_of(name: str, found: Distribution) -> str:
    """Return the licence files of a package, one after the other."""
    wanted = re.compile(r"(?i)(^|/)(licen[cs]e|copying|notice)[^/]*$")
    listed = [file for file in found.files or [] if ".dist-info" in str(file)]
    paths = sorted({file for file in listed if wanted.search(str(file))}, key=str)
    if not paths:
        raise SystemExit(f"{name} carries no licence text")
    return "\n\n".join(Path(str(path.locate())).read_text(encoding="utf-8") for path in paths)


class Collected(NamedTuple):
    """A part that is not ours: its licence's SPDX id, what it is used for, its licence's text."""

    licence: str
    used_for: str
    text: str


def collected() -> dict[str, Collected]:
    """Return the notices by name: of every package, of the fonts, of what the recipes bring."""
    notices = {}
    for name in package_names():
        try:
            found = distribution(name)
        except PackageNotFoundError as error:
            raise SystemExit(f"{name} is not installed: run the set-up first") from error
        text = text_of(name, found)
        if name == "fpdf2":
            text += "\n\n" + (DEBIAN_TEXTS / "GPL-3").read_text()
        notices[found.metadata["Name"]] = Collected(licence_of(name, found), USED_FOR[name], text)
    return notices | _fonts() | _from_recipes(notices)


def _fonts() -> dict[str, Collected]:
    ours = MOBILE.parent / "logic" / "records" / "paper" / "fonts" / "LICENCE.txt"
    apache = (DEBIAN_TEXTS / "Apache-2.0").read_text()
    roboto = "Copyright 2011 Google Inc. All Rights Reserved.\n\n" + apache
    profile = files("fpdf").joinpath("data/color_profiles/sRGB2014.icc.LICENSE").read_text()
    return {
        "DejaVu Sans": Collected("Bitstream-Vera", "type of the printed record", ours.read_text()),
        "Roboto": Collected("Apache-2.0", "type of the screens; comes with Kivy", roboto),
        "sRGB colour profile": Collected("ICC", "colours of the printed record", profile),
    }


def _from_recipes(notices: dict[str, Collected]) -> dict[str, Collected]:
    mit = notices["Kivy"].text
    permission = mit[mit.index("Permission is hereby granted") :]
    apache = (DEBIAN_TEXTS / "Apache-2.0").read_text()
    python = Path(sysconfig.get_path("stdlib")) / "LICENSE.txt"
    texts = {
        "Python": python.read_text(encoding="utf-8"),
        "pyjnius": f"Copyright (c) 2010-2017 Kivy Team and other contributors\n\n{permission}",
        "SDL, SDL_image, SDL_mixer, SDL_ttf": _ZLIB,
        "SQLite": _BLESSING,
        "OpenSSL": apache,
        "ZXing core": f"Copyright 2007-2019 ZXing authors.\n\n{apache}",
        "cffi": f"Copyright (c) Armin Rigo, Maciej Fijalkowski and others.\n\n{permission}",
        "libffi": f"Copyright (c) Anthony Green, Red Hat, Inc and others.\n\n{permission}",
    }
    return {name: Collected(licence, use, texts[name]) for name, licence, use in FROM_RECIPES}


_ZLIB = """Copyright (C) 1997-2025 Sam Lantinga

This software is provided 'as-is', without any express or implied warranty. In no event will the
authors be held liable for any damages arising from the use of this software.

Permission is granted to anyone to use this software for any purpose, including commercial
applications, and to alter it and redistribute it freely, subject to the following restrictions:

1. The origin of this software must not be misrepresented; you must not claim that you wrote the
   original software. If you use this software in a product, an acknowledgment in the product
   documentation would be appreciated but is not required.

2. Altered source versions must be plainly marked as such, and must not be misrepresented as being
   the original software.

3. This notice may not be removed or altered from any source distribution.
"""
_BLESSING = """The author disclaims copyright to this source code. In place of a legal notice, here
is a blessing:

May you do good and not evil.
May you find forgiveness for yourself and forgive others.
May you share freely, never taking more than you give.
"""


def write() -> None:
    """Write the list and one text file a notice."""
    folder = ASSETS / "licences"
    folder.mkdir(parents=True, exist_ok=True)
    for old in folder.glob("*.txt"):
        old.unlink()
    lines = ["# Written by `python -m mobile.demo.notices`; do not edit.\n"]
    for name, notice in sorted(collected().items(), key=lambda item: item[0].casefold()):
        file = re.sub(r"[^a-z0-9]+", "-", name.casefold()).strip("-") + ".txt"
        clean = "\n".join(line.rstrip() for line in notice.text.splitlines())
        (folder / file).write_text(f"{clean}\n", encoding="utf-8")
        lines.append(
            f'[[notices]]\nname = "{name}"\nlicence = "{notice.licence}"\n'
            f'used_for = "{notice.used_for}"\ntext = "{file}"\n'
        )
    (ASSETS / "notices.toml").write_text("\n".join(lines), encoding="utf-8")


if __name__ == "__main__":
    write()
