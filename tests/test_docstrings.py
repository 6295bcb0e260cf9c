"""A unit named in a docstring is that of the signature."""

import ast
import re
from collections.abc import Iterator
from typing import get_args

import pytest

from logic import quantities
from tests.paths import CHECKOUT

UNITS = {
    name: get_args(quantity)[1].json_schema_extra["unit"]
    for name, quantity in vars(quantities).items()
    if getattr(quantity, "__metadata__", None) and get_args(quantity)[1].json_schema_extra
}
MODULES = sorted((CHECKOUT / "logic").rglob("*.py"))
BLOCK = r"^{title}\n-+\n(.*?)(?=\n\n\S[^\n]*\n---|\Z)"


def unit_of(annotation: ast.expr | None) -> str | None:
    """Return the one unit that an annotation names, if it is one quantity or none."""
    text = ast.unparse(annotation) if annotation else ""
    found = re.fullmatch(r"(\w+)(?: \| None)?", text)
    return UNITS.get(found[1]) if found else None


def heads(docstring: str, title: str) -> list[str]:
    """List the lines of a block that begin an entry."""
    block = re.search(BLOCK.format(title=title), docstring, re.MULTILINE | re.DOTALL)
    lines = block[1].splitlines() if block else []
    return [line for line in lines if line and not line.startswith(" ")]


def slots(function: ast.FunctionDef) -> Iterator[tuple[str, str, str]]:
    """Yield each documented quantity with the unit of its annotation and its type slot."""
    docstring = ast.get_docstring(function) or ""
    arguments = [*function.args.posonlyargs, *function.args.args, *function.args.kwonlyargs]
    annotated = {one.arg: unit_of(one.annotation) for one in arguments}
    for head in heads(docstring, "Parameters"):
        names, _, slot = head.partition(" : ")
        for name in re.findall(r"\w+", names):
            if unit := annotated.get(name):
                yield name, unit, slot
    if unit := unit_of(function.returns):
        yield from (("returned", unit, head) for head in heads(docstring, "Returns"))


def wrong_units(source: str) -> list[str]:
    """List the public functions' quantities whose type slot does not begin with their unit."""
    return [
        f"{function.name}: {name} is in {unit}, its type slot says {slot!r}"
        for function in ast.walk(ast.parse(source))
        if isinstance(function, ast.FunctionDef) and not function.name.startswith("_")
        for name, unit, slot in slots(function)
        if not re.match(rf"{re.escape(unit)}(?![\w²°/])", slot)
    ]


@pytest.mark.parametrize("module", MODULES, ids=lambda path: str(path.relative_to(CHECKOUT)))
def test_every_unit_in_a_docstring_is_that_of_the_signature(module):
    assert wrong_units(module.read_text()) == []


def test_the_modules_have_quantities_to_compare():
    found = [
        slot
        for module in MODULES
        for function in ast.walk(ast.parse(module.read_text()))
        if isinstance(function, ast.FunctionDef)
        for slot in slots(function)
    ]
    assert len(found) > 40


SAMPLE = '''
def drop(current: Ampere, length: Metre | None, low: Volt, high: Volt) -> Volt:
    """Return a drop.

    Parameters
    ----------
    current : {current}
        Through the run.
    length : m
    low, high : {limits}

    Returns
    -------
    {drop}
        Along the run.
    """
'''


def test_a_sound_sample_passes():
    assert wrong_units(SAMPLE.format(current="A", limits="V", drop="V, at least 0")) == []


@pytest.mark.parametrize(
    ("current", "limits", "drop", "wrong"),
    [
        ("V", "V", "V", ["current"]),
        ("Ah", "V", "V", ["current"]),
        ("float", "V", "V", ["current"]),
        ("A", "mV", "V", ["low", "high"]),
        ("A", "V", "mV", ["returned"]),
    ],
)
def test_a_wrong_unit_is_found(current, limits, drop, wrong):
    found = wrong_units(SAMPLE.format(current=current, limits=limits, drop=drop))
    assert [re.match(r"drop: (\w+)", line)[1] for line in found] == wrong
