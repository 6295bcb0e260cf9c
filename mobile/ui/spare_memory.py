"""Gives memory that is free, but that the C library keeps for itself, back to the phone.

A thread that has worked leaves its own share of the heap behind: after a diagnosis several times
what its answer takes. A phone ends the apps in the background that hold the most.
"""

import ctypes
from functools import cache
from typing import Any

# Bionic's malloc.h, from Android 9 on (value from memory): M_PURGE of mallopt.
_PURGE = -101


@cache
def _library() -> ctypes.CDLL | None:
    try:
        return ctypes.CDLL(None)
    except (OSError, TypeError):  # Windows has no such library
        return None


def give_back() -> bool:
    """Give back what is free, in some milliseconds; False where the C library has no way to.

    Python lets other threads go on meanwhile.
    """
    library: Any = _library()
    if hasattr(library, "malloc_trim"):  # glibc
        library.malloc_trim(0)
        return True
    if hasattr(library, "android_set_abort_message"):  # Bionic: others number mallopt otherwise
        return bool(library.mallopt(_PURGE, 0))
    return False
