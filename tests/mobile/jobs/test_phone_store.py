"""Every store of the app is opened with the phone's key store."""

import re

import pytest

from logic.errors import RecordError
from mobile.jobs import phone_store
from mobile.jobs.workplace import Workplace
from tests.paths import CHECKOUT


class Turned:
    """Stands for a phone's key store: what it wraps begins with the phone's own letter."""

    def __init__(self, letter: bytes) -> None:
        self.letter = letter

    def wrap(self, secret: bytes) -> bytes:
        return self.letter + secret[::-1]

    def unwrap(self, wrapped: bytes) -> bytes:
        if wrapped[:1] != self.letter:
            raise RecordError("another phone's")
        return wrapped[:0:-1]


@pytest.fixture
def use_key_store():
    yield phone_store.use_key_store
    phone_store.use_key_store(None)


def test_a_worker_and_the_screens_sign_with_the_same_wrapped_key(tmp_path, use_key_store):
    use_key_store(Turned(b"1"))
    work = Workplace(tmp_path, tmp_path)
    own = work.store.own_key
    work.close()
    with phone_store.open_store(tmp_path) as store:
        assert store.own_key == own
        assert store.notices == ()
    use_key_store(Turned(b"2"))
    with phone_store.open_store(tmp_path) as store:
        assert store.own_key != own
        assert "another phone's" in store.notices[0]


def test_nothing_of_the_app_opens_a_store_by_itself():
    opens = re.compile(r"\bStore(File)?\.open\(")
    paths = [*(CHECKOUT / "mobile").glob("jobs/*.py"), *(CHECKOUT / "mobile/ui").rglob("*.py")]
    assert [path.name for path in paths if opens.search(path.read_text())] == ["phone_store.py"]
