"""Reads a data file (TOML) into its form, or says where it is broken and what to do about it."""

import re
import tomllib
from collections.abc import Iterable, Iterator
from difflib import get_close_matches
from pathlib import Path
from typing import Any, TypeVar, get_args

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from logic.errors import DataFileError
from logic.vehicle.points import Point, State

Form = TypeVar("Form", bound=BaseModel)
Table = dict[str, Any]
Loc = tuple[int | str, ...]


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
        message = f"holds something no data file needs ({type(error).__name__}). Write it anew."
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
        where = entry_path(table, first["loc"])
        raise DataFileError(complaint(first, form), short(path), where) from error


def short(path: Path) -> str:
    """Name a file by its last two parts, as its author would."""
    return "/".join(path.parts[-2:])


def _grammar_complaint(path: Path, message: str) -> DataFileError:
    what, _, spot = message.partition(" (at ")
    where = spot.rstrip(")") or "somewhere"
    advice = f"{what}. Look at that line and the one before it: quotes, brackets, an equals sign."
    return DataFileError(advice, short(path), where)


def did_you_mean(word: object, known: Iterable[str]) -> str:
    """Suggest the known word closest to what was written, or list the known ones."""
    words = sorted(set(known))
    close = get_close_matches(str(word), words, n=1)
    return f"did you mean '{close[0]}'?" if close else f"use one of: {', '.join(words)}."


def entry_path(table: dict[str, Any], loc: Loc) -> str:
    """Turn pydantic's path into 'step x, ask, state', without the tags of unions."""
    words: list[str] = []
    here: Any = table
    for part in loc:
        if isinstance(here, dict) and part not in here and part == here.get("kind"):
            continue  # the tag of a union, no key of the file
        if part == "[key]":
            continue  # pydantic's mark that the key itself is meant
        inside = _inside(here, part)
        if isinstance(part, int):
            words.append(_entry(words.pop() if words else "entry", part, inside))
        else:
            words.append(part)
        here = inside
    return ", ".join(words)


def _inside(here: Any, part: int | str) -> Any:
    try:
        return here[part]
    except (KeyError, IndexError, TypeError):
        return None


def _entry(name: str, index: int, entry: object) -> str:
    if not isinstance(entry, dict):
        return f"{name} number {index + 1}"
    singular = name.removesuffix("s")
    return f"{singular} {entry['id']}" if entry.get("id") else f"{singular} number {index + 1}"


def complaint(error: ErrorDetails, form: type[BaseModel]) -> str:
    """Say what is wrong and what to do about it."""
    kind, given, about = error["type"], error["input"], error.get("ctx", {})
    name = str(error["loc"][-1]) if error["loc"] else "it"
    if kind in _PLAIN:
        return _PLAIN[kind].format(given=given, **about)
    match kind:
        case "extra_forbidden":
            known = {key for model in _forms_at(form, error["loc"]) for key in model.model_fields}
            text = f"the key '{name}' is not known here; {did_you_mean(name, known)}"
        case "missing":
            text = f"'{name}' is missing. {_MISSING.get(name, 'Add it.')}"
        case "enum" | "literal_error":
            hint = did_you_mean(given, _listed(str(about["expected"])))
            text = f"'{given}' is not known; {hint}"
        case "union_tag_invalid":
            hint = did_you_mean(about["tag"], _listed(str(about["expected_tags"])))
            text = f"there is no kind '{about['tag']}'; {hint}"
        case "union_tag_not_found":
            kinds = {_tag(model) for model in _forms_at(form, (*error["loc"], ""))}
            text = f"'kind' is missing. Add it: {', '.join(sorted(filter(None, kinds)))}."
        case _:
            text = f"{error['msg'].removeprefix('Value error, ')}. Correct it."
    return text


_MISSING = {
    "state": f"A reading needs the state it is taken in: {', '.join(State)}.",
    "point": f"A reading needs its point: {', '.join(Point)}.",
    "parts": "Name the parts that its repair touches; [] if none.",
}
_NO_LIST = "this is no list. Write it in [ ], or each entry under its own [[ ]]."
_NO_TABLE = "this is no table. Write it as {{ key = value }}."
_NO_WHOLE = "'{given}' is no whole number. Write it in digits, without quotes."
_NO_NUMBER = "'{given}' is no number. Write it in digits, without quotes."
_PLAIN = {
    "string_too_long": "longer than {max_length} characters. Say it in fewer words.",
    "string_too_short": "nothing is written here. Say it, or leave the key out if it may be.",
    "string_type": "this is no text. Put it in quotes.",
    "string_pattern_mismatch": "'{given}' does not fit. Small letters, digits and underscores, "
    "a letter first.",
    "too_short": "{actual_length} given, at least {min_length} needed. Add what is missing.",
    "too_long": "{actual_length} given, at most {max_length} allowed. Take some out.",
    "greater_than": "{given} is too small. Give more than {gt}.",
    "greater_than_equal": "{given} is too small. Give {ge} or more.",
    "less_than_equal": "{given} is too large. Give {le} or less.",
    "tuple_type": _NO_LIST,
    "dict_type": _NO_TABLE,
    "model_type": _NO_TABLE,
    "model_attributes_type": _NO_TABLE,
    "int_type": _NO_WHOLE,
    "int_parsing": _NO_WHOLE,
    "int_from_float": _NO_WHOLE,
    "float_type": _NO_NUMBER,
    "float_parsing": _NO_NUMBER,
    "finite_number": _NO_NUMBER,
    "bool_type": "'{given}' is neither true nor false. Write one of them, without quotes.",
    "bool_parsing": "'{given}' is neither true nor false. Write one of them, without quotes.",
}


def _listed(words: str) -> list[str]:
    """Take pydantic's "'a', <B.C: 'c'> or 12" apart."""
    return re.findall(r"'([^']*)'", words) or re.split(r", | or ", words)


def _forms_at(form: type[BaseModel], loc: Loc) -> set[type[BaseModel]]:
    """Find the forms that the last part of a path was looked for in."""
    here: set[type[BaseModel]] = {form}
    for part in loc[:-1]:
        if isinstance(part, int):
            continue
        fields = [model.model_fields[part] for model in here if part in model.model_fields]
        inner = {model for field in fields for model in _forms_in(field.annotation)}
        here = inner or {model for model in here if _tag(model) == part} or here
    return here


def _tag(model: type[BaseModel]) -> str:
    """Read the fixed ``kind`` of one of a union's forms, or ""."""
    field = model.model_fields.get("kind")
    values = get_args(field.annotation) if field else ()
    return str(values[0]) if values else ""


def _forms_in(annotation: Any) -> Iterator[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    for inner in get_args(annotation):
        yield from _forms_in(inner)
