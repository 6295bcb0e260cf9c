import string

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from logic.vehicle.identity import Vehicle, vin_complaint, vin_warning
from tests.golden.table import rows

ISO_3779 = "".join(sorted(set(string.ascii_uppercase + string.digits) - set("IOQ")))


@pytest.mark.parametrize("row", rows("vin"))
def test_a_published_number_has_its_published_check_digit(row):
    assert row["vin"][8] == row["expected_digit"]
    assert vin_complaint(row["vin"]) == ""
    assert vin_warning(row["vin"]) == ""


@pytest.mark.parametrize("row", rows("vin"))
def test_any_other_check_digit_only_warns_and_names_the_right_one(row):
    for digit in set("0123456789X") - {row["expected_digit"]}:
        other = row["vin"][:8] + digit + row["vin"][9:]
        assert f"would have {row['expected_digit']}" in vin_warning(other)
        assert Vehicle(registration="FH 12", vin=other).vin == other


# Outside North America position 9 is often the filler Z, which is no valid digit.
def test_a_filler_in_position_nine_warns_and_is_taken():
    vin = "1G4AH59HZ5G118341"
    assert "Elsewhere that is allowed" in vin_warning(vin)
    assert Vehicle(registration="FH 12", vin=vin).vin == vin


@pytest.mark.parametrize(
    ("vin", "words"),
    [
        ("1G4AH59H45G11834", "17 characters, this has 16"),
        ("1G4AH59H45G1183411", "17 characters, this has 18"),
        ("IG4AH59H45G118341", "no I"),
        ("OG4AH59H45Q118341", "no O, Q"),
        ("1G4AH59H45G11834-", "no -"),
    ],
)
def test_what_iso_3779_rules_out_is_told(vin, words):
    assert words in vin_complaint(vin)
    assert vin_warning(vin) == ""
    with pytest.raises(ValidationError):
        Vehicle(registration="FH 12", vin=vin)


def test_no_number_is_no_complaint():
    assert vin_complaint("") == vin_warning("") == ""
    assert Vehicle(registration="fh 12").registration == "FH 12"


# 49 CFR 565.15: the values and weights catch every slip of one character that changes its value.
@given(st.text(ISO_3779, min_size=17, max_size=17))
def test_exactly_one_check_digit_satisfies_any_number(vin):
    quiet = [d for d in "0123456789X" if vin_warning(vin[:8] + d + vin[9:]) == ""]
    assert len(quiet) == 1


@given(st.text(max_size=20))
def test_any_text_is_a_number_or_has_a_complaint(text):
    is_number = len(text) == 17 and set(text) <= set(ISO_3779)
    assert (vin_complaint(text) == "") == (is_number or text == "")
