"""A device believes its own word about keys; what others say is offered, and asked about."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logic.records.keys import DeviceKey
from logic.records.trusted_keys import KeyStatement, offers, stated, workshop_keys

START = datetime(2026, 5, 4, 9, tzinfo=UTC)
KEYS = [DeviceKey.of(bytes([number]) * 32) for number in range(5)]
ME, DESK, VAN, LOST, STRANGER = KEYS
NAMES = {
    ME.public: "me",
    DESK.public: "desk",
    VAN.public: "van",
    LOST.public: "lost",
    STRANGER.public: "stranger",
}
KNOWN = [(ME, ME), (ME, DESK), (ME, LOST)]


def says(by, of, standing="trusted", minutes=0):
    at = START + timedelta(minutes=minutes)
    return stated(by, of.public, NAMES[of.public], standing, at)


def known(*statements):
    return workshop_keys([*(says(*pair) for pair in KNOWN), *statements], [ME.public])


def trusted(*statements):
    return {NAMES[public] for public, key in known(*statements).items() if key.is_trusted}


def offered(*heard, here=()):
    return [(NAMES[one.public], one.standing, one.by) for one in offers(heard, known(*here))]


def test_only_this_devices_own_word_counts():
    assert trusted() == {"me", "desk", "lost"}
    assert trusted(says(DESK, VAN), says(LOST, DESK, "withdrawn", 9)) == trusted()


def test_the_latest_word_counts_and_a_withdrawn_key_keeps_its_name():
    gone = stated(ME, DESK.public, "", "withdrawn", START + timedelta(minutes=5))
    assert trusted(gone) == {"me", "lost"}
    assert known(gone)[DESK.public].name == "desk"
    assert trusted(gone, says(ME, DESK, minutes=6)) == {"me", "desk", "lost"}


def test_what_a_trusted_device_says_is_offered_and_what_a_stranger_says_is_not():
    assert offered(says(DESK, VAN)) == [("van", "trusted", "desk")]
    assert offered(says(STRANGER, VAN), says(VAN, STRANGER)) == []
    assert offered(says(DESK, DESK), says(DESK, ME), says(DESK, LOST)) == []


def test_a_withdrawal_is_offered_once_and_never_of_this_devices_own_key():
    assert offered(says(DESK, LOST, "withdrawn", 5)) == [("lost", "withdrawn", "desk")]
    assert offered(says(LOST, ME, "withdrawn", 5)) == []
    again = says(ME, LOST, minutes=6)  # asked, and believed all the same
    assert offered(says(DESK, LOST, "withdrawn", 5), here=[again]) == []
    assert offered(says(DESK, VAN, "withdrawn", 5)) == []  # nothing to withdraw


def test_a_key_that_somebody_withdrew_is_not_offered_as_new():
    assert offered(says(DESK, VAN), says(LOST, VAN, "withdrawn", 5)) == []
    assert offered(says(DESK, VAN), here=[says(ME, VAN, "withdrawn", 1)]) == []


def test_a_withdrawn_devices_word_is_worth_nothing():
    gone = says(ME, LOST, "withdrawn", 1)
    assert offered(says(LOST, VAN), says(LOST, DESK, "withdrawn", 9), here=[gone]) == []


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
    assert known(*statements) == known(*shuffled)
    assert offers(statements, known()) == offers(shuffled, known())


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
