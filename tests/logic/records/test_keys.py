"""The device's key and its signatures, against the RFC's own example and another program."""

import json
import os
import stat
import subprocess

import pytest

from logic.errors import RecordError
from logic.records.keys import (
    _SMALL_ORDER,
    KEY_FILE,
    DeviceKey,
    fingerprint,
    is_weak,
    key_id,
    own_key,
    shown,
    signature_is_good,
)

# RFC 8032, 7.1, TEST 2 and TEST 3.
VECTORS = [
    (
        "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "72",
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da"
        "085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00",
    ),
    (
        "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
        "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
        "af82",
        "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac"
        "18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a",
    ),
]


@pytest.mark.outside
@pytest.mark.parametrize(("secret", "public", "message", "signature"), VECTORS)
def test_signatures_are_those_of_the_standard(secret, public, message, signature):
    key = DeviceKey.of(bytes.fromhex(secret))
    assert key.public == public
    assert key.sign(bytes.fromhex(message)) == signature
    assert signature_is_good(public, signature, bytes.fromhex(message))
    assert not signature_is_good(public, signature, bytes.fromhex(message) + b"\0")


@pytest.mark.outside
def test_a_fingerprint_is_what_sha256sum_says_of_the_keys_bytes():
    public = VECTORS[0][1]
    said = subprocess.run(
        ["sha256sum"], input=bytes.fromhex(public), capture_output=True, check=True
    ).stdout.split()[0]
    assert fingerprint(public) == said.decode()
    assert key_id(public) == said.decode()[:16]
    assert shown(public).replace(" ", "") == said.decode()[:32]


@pytest.mark.parametrize("signature", ["", "00", "zz", "00" * 64, "f" * 128])
def test_what_is_no_signature_is_not_good_and_brings_nothing_down(signature):
    assert not signature_is_good(VECTORS[0][1], signature, b"text")
    assert not signature_is_good("00", VECTORS[0][3], b"text")


def doubled(point):
    """Double a point of edwards25519 (RFC 8032, 5.1)."""
    p = 2**255 - 19
    d = -121665 * pow(121666, -1, p) % p
    x, y = point
    t = d * x * x * y * y % p
    return (
        2 * x * y * pow(1 + t, -1, p) % p,
        (y * y + x * x) * pow(1 - t, -1, p) % p,
    )


def x_of(y):
    p = 2**255 - 19
    d = -121665 * pow(121666, -1, p) % p
    square = (y * y - 1) * pow(d * y * y + 1, -1, p) % p
    x = pow(square, (p + 3) // 8, p)
    if x * x % p != square:
        x = x * pow(2, (p - 1) // 4, p) % p
    assert x * x % p == square
    return x


@pytest.mark.parametrize("y", _SMALL_ORDER)
def test_the_weak_keys_are_the_points_of_small_order(y):
    point = (x_of(y), y)
    for _ in range(3):
        point = doubled(point)
    assert point == (0, 1)
    for public in (y, y | 1 << 255):
        text = public.to_bytes(32, "little").hex()
        assert is_weak(text)
        assert not signature_is_good(text, "00" * 64, b"text")
    assert not is_weak(VECTORS[0][1])


def test_the_key_is_made_once_and_only_its_owner_may_read_it(tmp_path):
    first, notice = own_key(tmp_path)
    assert notice == ""
    assert own_key(tmp_path) == (first, "")
    assert stat.S_IMODE((tmp_path / KEY_FILE).stat().st_mode) == 0o600
    assert [path.name for path in tmp_path.iterdir()] == [KEY_FILE]
    assert first.secret.hex() not in repr(first)


class Shaken:
    """A key store that turns every bit around."""

    def wrap(self, secret):
        return bytes(255 - one for one in secret)

    def unwrap(self, wrapped):
        return self.wrap(wrapped)


class Emptied(Shaken):
    def unwrap(self, wrapped):
        raise RecordError("The phone's key store has no key for this app any more.")


def test_a_wrapped_key_does_not_lie_in_the_file(tmp_path):
    key, _ = own_key(tmp_path, Shaken())
    assert key.secret.hex() not in (tmp_path / KEY_FILE).read_text()
    assert own_key(tmp_path, Shaken())[0] == key


@pytest.mark.parametrize(
    "spoil",
    [
        lambda path: path.write_bytes(b""),
        lambda path: path.write_bytes(b"\xff\xfe no key"),
        lambda path: path.write_text("[]"),
        lambda path: path.write_text(json.dumps({"public": "0" * 64, "wrapped": False})),
        lambda path: path.write_text(
            json.dumps({"public": "0" * 64, "wrapped": False, "secret": "11" * 32})
        ),
        lambda path: path.write_text(
            json.dumps({"public": "0" * 64, "wrapped": False, "secret": "11"})
        ),
    ],
)
def test_a_key_file_that_cannot_be_used_is_set_aside_and_told(tmp_path, spoil):
    old, _ = own_key(tmp_path)
    spoil(tmp_path / KEY_FILE)
    new, notice = own_key(tmp_path)
    assert new != old
    assert "have another phone of the workshop, or the desk, vouch for it" in notice
    assert len(list(tmp_path.glob(f"{KEY_FILE}.set-aside-*"))) == 1
    assert own_key(tmp_path) == (new, "")


def test_a_key_wrapped_on_another_phone_is_replaced_by_a_new_one(tmp_path):
    old, _ = own_key(tmp_path, Shaken())
    new, notice = own_key(tmp_path, Emptied())
    assert "no key for this app any more" in notice
    assert new != old


def test_two_processes_that_begin_at_once_come_to_one_key(tmp_path, monkeypatch):
    other = DeviceKey.fresh()
    text = json.dumps({"public": other.public, "wrapped": False, "secret": other.secret.hex()})
    link = os.link

    def beaten(source, target):
        target.write_text(text)
        link(source, target)

    monkeypatch.setattr(os, "link", beaten)
    assert own_key(tmp_path)[0] == other


def test_a_folder_that_cannot_be_written_says_what_to_do(tmp_path):
    with pytest.raises(RecordError, match="then try again"):
        own_key(tmp_path / "absent")
