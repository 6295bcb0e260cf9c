"""What is packed is named with its licence, and the licences can be read in the app."""

import re
import tomllib
from configparser import ConfigParser
from pathlib import Path

from packaging.licenses import canonicalize_license_expression
from packaging.utils import canonicalize_name

from mobile.jobs.notices import ASSETS, notices

CHECKOUT = Path(ASSETS).parents[1]
# Not on the SPDX list under a name of their own: the International Color Consortium's words.
NO_SPDX_ID = {"ICC"}


def packed_by_pip() -> set[str]:
    parser = ConfigParser(interpolation=None)
    parser.read(CHECKOUT / "mobile" / "buildozer.spec")
    entries = parser["app"]["requirements"].split(",")
    return {canonicalize_name(entry.split("==")[0]) for entry in entries} - {"python3"}


def test_every_packed_module_has_its_notice():
    named = {canonicalize_name(notice.name) for notice in notices()}
    assert packed_by_pip() <= named


def test_every_notice_has_a_licence_of_the_spdx_list_and_its_text():
    for notice in notices():
        if notice.licence not in NO_SPDX_ID:
            assert canonicalize_license_expression(notice.licence) == notice.licence
        assert len(" ".join(notice.paragraphs())) > 100, notice.name


def test_the_lesser_licence_comes_with_the_general_one_it_refers_to():
    [text] = [" ".join(one.paragraphs()) for one in notices() if one.name == "fpdf2"]
    assert "GNU LESSER GENERAL PUBLIC LICENSE" in text
    assert "TERMS AND CONDITIONS" in text


def test_the_fonts_carry_both_halves_of_their_licence():
    [text] = [" ".join(one.paragraphs()) for one in notices() if one.name == "DejaVu Sans"]
    assert "Bitstream Vera Fonts Copyright" in text
    assert "Arev Fonts Copyright" in text


def test_the_project_states_its_own_licence_once_and_the_same():
    stated = tomllib.loads((CHECKOUT / "pyproject.toml").read_text())["project"]["license"]
    assert stated == "MIT"
    assert (CHECKOUT / "LICENSE").read_text().startswith("MIT License")
    assert re.search(r"fpdf2.{0,80}LGPL", (CHECKOUT / "README.md").read_text(), re.DOTALL)
