"""Where a text names a customer. Names are invented, numbers kept free for fiction (ACMA)."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logic.records.customer_names import STAND_IN, CustomerNames
from logic.vehicle.identity import Customer


def names(name="", contact=""):
    return CustomerNames.of([Customer(name=name, contact=contact)])


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("Ida Quarrow", "told Ida Quarrow"),
        ("Ida Quarrow", "IDA  QUARROW agreed"),
        ("Ida Quarrow", "Quarrow, Ida"),
        ("Ida Quarrow", "ida_quarrow's ute"),
        ("Ida Maud Quarrow", "Ida Quarrow was told"),
        ("Orla O'Driskel", "Orla O’Driskel"),
        ("Žofie Ďurova", "Zofie Durova"),
        ("Zofie Durova", "ŽOFIE ĎUROVÁ"),
        ("Quarrow & Tumble Apiary", "Quarrow & Tumble"),
        ("Thistlewick", "Thistlewick's flatbed"),
    ],
)
def test_a_whole_name_is_found_however_it_is_written(name, text):
    assert names(name).surely_in(text)


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("Ida Quarrow", "Quarrow was told"),
        ("Ida Quarrow", "for Ida"),
        ("Bob", "Bob says so"),
    ],
)
def test_a_part_of_a_name_only_may_be_it(name, text):
    assert names(name).maybe_in(text)
    assert not names(name).surely_in(text)


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("Shire Library Service", "service is due, the library is open"),
        ("Ida Quarrow", "a Quarrowing noise"),
        ("Battery Charger", ""),
        ("Solar Service", "solar panel is clean"),
        ("Al", "alternator Al 140"),
        ("", "anything"),
        ("...", "wait ..."),
    ],
)
def test_words_of_the_trade_and_within_words_are_nobody(name, text):
    assert not names(name).maybe_in(text)
    assert not names(name).surely_in(text)


@pytest.mark.parametrize(
    "text", ["0491570006", "+61 491 570 006", "(0491) 570-006", "ring 0491.570.006!"]
)
def test_a_telephone_number_is_found_however_it_is_written(text):
    assert names(contact="0491 570 006").surely_in(text)
    assert names(contact="Ida, +61 491 570 006").surely_in(text)


@pytest.mark.parametrize("text", ["4915700061", "0.491 V at 570 m", "1 0491 570 00", "6 mm2 of 40"])
def test_other_figures_are_no_telephone_number(text):
    assert not names(contact="0491 570 006").surely_in(text)


@pytest.mark.parametrize(
    "text", ["IDA@example.org", "mail ida@example.org.", "17 Wattlebird close"]
)
def test_a_mail_address_and_a_street_with_its_number_are_sure(text):
    assert names(contact="17 Wattlebird Close; ida@example.org").surely_in(text)


def test_what_stands_in_leaves_the_rest_as_it_was():
    found = names("Ida Quarrow", "0491 570 006")
    told = "Told Ida Quarrow (0491570006): lug é at 12.6 V\nis new"
    assert found.left_out_of(told) == f"Told {STAND_IN} ({STAND_IN}): lug é at 12.6 V\nis new"
    assert found.left_out_of("Quarrow") == "Quarrow"
    assert found.with_parts().left_out_of("Mrs Quarrow") == f"Mrs {STAND_IN}"


@given(st.text(max_size=60), st.text(max_size=40), st.text(max_size=40))
def test_what_is_left_out_is_not_found_again_and_nothing_breaks(text, name, contact):
    found = names(name, contact)
    left = found.left_out_of(f"{text} {name} {text}")
    assert not found.surely_in(left) or found.surely_in(STAND_IN)


@given(st.binary(max_size=200), st.binary(max_size=200))
def test_bytes_keep_their_length_and_lose_the_name(before, after):
    found = names("Žofie Quarrow", "")
    data = before + b"x\xc5\xbdofie QUARROWy" + after
    written = found.overwritten_in(data)
    assert len(written) == len(data)
    assert not found.in_bytes(written)
    assert b"QUARROW" not in written


def test_an_empty_customer_is_nobody():
    assert not names()
    assert names().left_out_of("as it is") == "as it is"
    assert not names().in_bytes(b"as it is")
