"""One data file into one checked value, or a complaint that says where and what to do."""

import tomllib
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from logic.checklist.complaints import complaint, place
from logic.errors import DataFileError

Form = TypeVar("Form", bound=BaseModel)
Table = dict[str, Any]


def read_table(path: Path) -> Table:
    """Read a TOML file.

    Raises
    ------
    DataFileError
        The file is missing, is not UTF-8, or breaks TOML's grammar at the line named.
    """
    try:
        return tomllib.loads(path.read_bytes().decode("utf-8"))
    except OSError as error:
        reason = error.strerror or "unknown reason"
        raise DataFileError(f"cannot be read ({reason}). Put it back.", short(path)) from error
    except UnicodeDecodeError as error:
        message = f"byte {error.start} is no UTF-8 text. Save the file as UTF-8."
        raise DataFileError(message, short(path)) from error
    except tomllib.TOMLDecodeError as error:
        raise _grammar_complaint(path, str(error)) from error
    except (ValueError, RecursionError) as error:  # a number or a nesting beyond all measure
        message = f"holds something no checklist needs ({type(error).__name__}). Write it anew."
        raise DataFileError(message, short(path)) from error


def read(path: Path, form: type[Form]) -> Form:
    """Read a TOML file into a form.

    Raises
    ------
    DataFileError
        Names the file, the entry and what to do.
    """
    return checked(read_table(path), form, path)


def checked(table: Table, form: type[Form], path: Path) -> Form:
    """Check a table against a form; raises :class:`DataFileError` with the first complaint."""
    try:
        return form.model_validate(table)
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        where = place(table, first["loc"])
        raise DataFileError(complaint(first, form), short(path), where) from error


def short(path: Path) -> str:
    """Name a file by its last two parts, as an author of checklists would."""
    return "/".join(path.parts[-2:])


def _grammar_complaint(path: Path, message: str) -> DataFileError:
    what, _, spot = message.partition(" (at ")
    where = spot.rstrip(")") or "somewhere"
    advice = f"{what}. Look at that line and the one before it: quotes, brackets, an equals sign."
    return DataFileError(advice, short(path), where)
