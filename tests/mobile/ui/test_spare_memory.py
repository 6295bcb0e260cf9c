"""What is free goes back to the system, as the system itself counts it (proc(5), status)."""

import pytest

from mobile.ui import spare_memory
from tests.process_memory import printed_by

# In a process of its own: what other tests left free would be taken first, and hide the growth.
_A_THREAD_WORKS = """
from threading import Thread
from mobile.ui import spare_memory
from tests.process_memory import held

kept = []

def work():
    # Each too small to be mapped by itself.
    blocks = [b"x" * (50_000 + number) for number in range(1000)]
    kept.append(blocks[-1])  # holds the end of the heap: what is before it would stay

before = held()
thread = Thread(target=work)
thread.start()
thread.join()
left = held() - before
assert spare_memory.give_back()
print(left, held() - before)
"""


def test_what_a_thread_left_behind_goes_back() -> None:
    left, kept = map(float, printed_by("-c", _A_THREAD_WORKS).split())
    assert left > 30
    assert kept < left / 3


def test_a_library_without_a_way_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(spare_memory, "_library", lambda: None)
    assert not spare_memory.give_back()


def test_an_android_is_asked_to_purge(monkeypatch: pytest.MonkeyPatch) -> None:
    """M_PURGE of Bionic's malloc.h is -101 (value from memory)."""
    asked = []

    class Bionic:
        android_set_abort_message = None

        def mallopt(self, *arguments: int) -> int:
            asked.append(arguments)
            return 1

    monkeypatch.setattr(spare_memory, "_library", Bionic)
    assert spare_memory.give_back()
    assert asked == [(-101, 0)]
