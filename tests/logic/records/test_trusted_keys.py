"""Whom a device believes follows from what was said, not from the order in which it came."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logic.records.keys import DeviceKey
from logic.records.trusted_keys import KeyStatement, stated, workshop_keys

START = datetime(2026, 5, 4, 9, tzinfo=UTC)
KEYS = [DeviceKey.of(bytes([number]) * 32) for number in range(5)]
ME, DESK, VAN, LOST, STRANGER = KEYS
NAMES = dict(
    zip((key.public for key in KEYS), ["me", "desk", "van", "lost", "stranger"], strict=True)
)


def says(by, of, standing="trusted", minutes=0):
    at = START + timedelta(minutes=minutes)
    return stated(by, of.public, NAMES[of.public], standing, at)


def trusted(*statements, own=(ME.public,)):
    keys = workshop_keys([says(ME, ME), *statements], own)
    return {NAMES[public] for public, key in keys.items() if key.is_trusted}


def test_trust_goes_on_through_whom_one_trusts_and_no_further():
    assert trusted(says(ME, DESK), says(DESK, VAN)) == {"me", "desk", "van"}
    assert trusted(says(DESK, VAN), says(STRANGER, STRANGER), says(STRANGER, ME)) == {"me"}


def test_a_withdrawn_key_takes_with_it_whom_it_alone_vouched_for():
    lost = [says(ME, LOST), says(LOST, STRANGER), says(ME, DESK), says(DESK, VAN), says(LOST, VAN)]
    assert "stranger" in trusted(*lost)
    gone = trusted(*lost, says(DESK, LOST, "withdrawn", 5))
    assert gone == {"me", "desk", "van"}


def test_a_lost_phone_can_withdraw_others_until_this_device_vouches_for_them_again():
    """To be on the safe side its withdrawals count, but never against this device itself."""
    said = [says(ME, LOST), says(ME, DESK), says(DESK, VAN), says(LOST, DESK, "withdrawn", 1)]
    assert trusted(*said) == {"me", "lost"}
    assert trusted(*said, says(ME, DESK, minutes=2)) == {"me", "desk", "lost", "van"}
    assert "me" in trusted(*said, says(LOST, ME, "withdrawn", 3))


def test_the_latest_word_of_one_key_about_another_counts():
    back = [says(ME, DESK), says(ME, DESK, "withdrawn", 1), says(ME, DESK, minutes=2)]
    assert trusted(*back) == {"me", "desk"}
    assert trusted(*back[:2]) == {"me"}


def test_a_new_phones_old_key_still_vouches():
    assert trusted(says(VAN, DESK), own=(VAN.public, ME.public)) == {"me", "desk"}


def test_a_key_that_is_withdrawn_keeps_its_name():
    gone = stated(ME, VAN.public, "", "withdrawn", START + timedelta(minutes=5))
    assert workshop_keys([says(ME, ME), says(ME, VAN), gone], [ME.public])[VAN.public].name == "van"


def test_names_and_who_said_so_are_told():
    key = workshop_keys([says(ME, DESK), says(ME, ME), says(DESK, VAN)], [ME.public])[VAN.public]
    assert (key.name, key.by, key.is_own) == ("van", "desk", False)


@given(
    st.lists(
        st.builds(
            says,
            st.sampled_from(KEYS),
            st.sampled_from(KEYS),
            st.sampled_from(["trusted", "withdrawn"]),
            st.integers(0, 3),
        ),
        max_size=12,
    ),
    st.randoms(use_true_random=False),
)
def test_the_order_in_which_statements_come_makes_no_difference(statements, dice):
    shuffled = [*statements, *statements[:2]]
    dice.shuffle(shuffled)
    assert workshop_keys(statements, [ME.public]) == workshop_keys(shuffled, [ME.public])


@given(
    st.lists(
        st.builds(
            says,
            st.sampled_from([STRANGER]),
            st.sampled_from(KEYS),
            st.sampled_from(["trusted", "withdrawn"]),
            st.integers(0, 9),
        ),
        max_size=8,
    )
)
def test_nothing_that_a_stranger_says_makes_any_difference(statements):
    known = [says(ME, ME), says(ME, DESK), says(DESK, VAN)]
    assert workshop_keys([*known, *statements], [ME.public]) == workshop_keys(known, [ME.public])


@pytest.mark.parametrize("field", ["key", "name", "standing", "at", "by"])
def test_a_statement_that_was_changed_is_not_signed(field):
    said = says(ME, DESK)
    assert said.is_signed
    changed = {
        "key": VAN.public,
        "name": "other",
        "standing": "withdrawn",
        "at": START + timedelta(days=1),
        "by": VAN.public,
    }
    altered = KeyStatement.model_validate(said.model_dump() | {field: changed[field]})
    assert not altered.is_signed
