"""Android's classes called so that whatever they refuse comes out as advice."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from logic.errors import AppError

ACTIVITY = "example.fernhollow.voltwalk.VoltwalkActivity"


def android() -> tuple[Any, Callable[[str], Any]]:
    """Return the app's activity, and what finds a class of Java by its name."""
    from android import mActivity
    from jnius import autoclass

    return mActivity, autoclass


@contextmanager
def refused_as(advice: str) -> Iterator[None]:
    """Turn whatever Android refuses into advice.

    Raises
    ------
    AppError
        With the advice: a Java exception, an error of the storage, or null for an answer.
    """
    from jnius import JavaException

    try:
        yield
    except (JavaException, OSError, _NothingThereError) as error:
        raise AppError(advice) from error


class _NothingThereError(Exception):
    """Android answered null."""


def there(answer: Any) -> Any:
    """Return what Android answered, unless that is null."""
    if answer is None:
        raise _NothingThereError
    return answer
