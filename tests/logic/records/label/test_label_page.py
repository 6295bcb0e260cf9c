"""The page that documents the label's code, checked by reading its example by its tables."""

import hashlib
import json
import re
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from logic.records.label import wire
from logic.records.label.encoding import Label, decode, encode
from tests.contract import POINTS, STATES
from tests.logic.records.label.label_samples import body_of, fitted_out
from tests.logic.records.sample_records import PUBLIC, commissioning, signed

PAGE = (Path(wire.__file__).parent / "label.md").read_text(encoding="utf-8")


def table(title):
    part = PAGE.split(f"\n## {title}\n")[1].split("\n## ")[0]
    rows = re.findall(r"^\| (.+?) \| (.+?) \|$", part, re.MULTILINE)
    return [row for row in rows if not row[0].startswith("---")]


def numbered(what):
    """Return the page's ids of points or states by their numbers."""
    part = PAGE.split(f"| {what} | |\n")[1].split("\n\n")[0]
    return {int(number): name for number, name in re.findall(r"^\| (\d+) \| (\w+) \|$", part, re.M)}


class ByThePage:
    """A second reader, written from the page alone."""

    def __init__(self, content):
        self.left = list(content)

    def unsigned(self):
        part = self.left.pop(0)
        return part if part < 128 else part - 128 + 128 * self.unsigned()

    def signed(self):
        value = self.unsigned()
        return -(value // 2) - 1 if value % 2 else value // 2

    def take(self, count):
        taken, self.left = self.left[:count], self.left[count:]
        return bytes(taken)

    def text(self):
        return self.take(self.unsigned()).decode()


def flat(value, path=""):
    if not isinstance(value, dict):
        return {path: value}
    below = (flat(part, f"{path}.{name}".lstrip(".")) for name, part in value.items())
    return {name: part for found in below for name, part in found.items()}


@pytest.fixture
def example():
    """The example's text and, beside it, what the page says that it says."""
    part = PAGE.split("## An example")[1]
    text = "".join(part.split("```text\n")[1].split("```")[0].split())
    return text, json.loads(part.split("```json\n")[1].split("```")[0])


def heads_by_the_page(source):
    version = source.take(1)[0]
    is_signed = source.take(1)[0] if version == 3 else version == 2
    found = {"vehicle_id": source.take(16).hex(), "record_sha256": source.take(32).hex()}
    if is_signed:
        found |= {"key_id": source.take(8).hex(), "signature": source.take(64).hex()}
    assert source.take(1) == b"\0"
    found["revision"] = source.unsigned()
    minutes, ahead = source.signed(), source.signed()
    moment = datetime(1970, 1, 1) + timedelta(minutes=minutes + ahead)
    found["signed_at"] = f"{moment.isoformat()}+{ahead // 60:02}:{ahead % 60:02}"
    return found | {"registration": source.text()}


def figures_by_the_page(source):
    mixed = source.unsigned()
    found = {}
    for name, choices in table("Choices")[1:]:
        mixed, index = divmod(mixed, len(choices.split(", ")))
        found[name] = choices.split(", ")[index]
    known = int.from_bytes(source.take(7), "little")
    for place, (name, parts) in enumerate(table("Numbers")[1:]):
        if known >> place & 1:
            found[name] = source.signed() / int(parts)
    return found | {"charger.ingress_protection": source.text()}


def extras_by_the_page(source):
    rows = table("Extras")[1:]
    for _ in range(source.unsigned()):
        name, says = rows[source.unsigned()]
        said = source.signed()
        is_number = says.startswith("parts: ")
        yield name, said / int(says[7:]) if is_number else says.split(", ")[said]


def readings_by_the_page(source):
    points, states = numbered("point"), numbered("state")
    for _ in range(source.unsigned()):
        first = source.take(1)[0]
        value = source.signed() / (1000 if first & 128 else 100)
        yield {"point": points[first & 31], "state": states[first >> 5 & 3], "value": value}


def test_the_page_suffices_to_read_its_own_example(example):
    text, said = example
    source = ByThePage(body_of(text))
    heads = heads_by_the_page(source)
    assert heads == {name: said[name] for name in heads}
    figures, installation = figures_by_the_page(source), flat(said["installation"])
    numbers = {name for name, _ in table("Numbers")[1:]}
    assert numbers & set(figures) == numbers & set(installation)
    for name, value in figures.items():
        if not isinstance(installation.get(name), bool | None):
            assert installation[name] == value or str(installation[name]) == value, name
    assert source.take(1) == b"\0"
    assert list(readings_by_the_page(source)) == said["readings"]
    assert source.left == []


def test_the_page_suffices_to_read_the_label_of_a_signed_record():
    sealed = signed(commissioning())
    heads = heads_by_the_page(ByThePage(body_of(encode(sealed))))
    assert heads["record_sha256"] == sealed.sha256
    assert heads["key_id"] == hashlib.sha256(bytes.fromhex(PUBLIC)).digest()[:8].hex()
    assert heads["signature"] == sealed.signature.signature
    assert heads["registration"] == "LIB 042"


def test_the_page_suffices_to_read_the_extras():
    said = {
        "alternator.control": "converter",
        "start_battery.chemistry": "calcium",
        "output_nominal_voltage_v": 24,
        "start_battery.second": "series",
        "house_battery.in_parallel": 3,
        "fitted.house_isolator": True,
        "trailer.plug_rated_current_a": 35.5,
        "trailer.socket_dead_unhitched": False,
        "second_unit_runs.house_return.area_mm2": 8.37,
    }
    sealed = signed(commissioning(installation=fitted_out(said), steps=()))
    source = ByThePage(body_of(encode(sealed)))
    assert heads_by_the_page(source)["signature"] == sealed.signature.signature
    figures = figures_by_the_page(source)
    assert figures["alternator.control"] == "unknown"
    assert figures["start_battery.chemistry"] == "flooded"
    assert source.take(1) == b"\0"
    assert list(readings_by_the_page(source)) == []
    words = {True: "yes", False: "no", 24: "24", 3: 3.0}
    extras = dict(extras_by_the_page(source))
    assert extras.pop("trailer") == extras.pop("second_unit_runs") == "yes"
    assert extras == {name: words.get(value, value) for name, value in said.items()}
    assert source.left == []


def test_the_page_says_of_its_example_what_our_reader_says(example):
    text, said = example
    assert decode(text) == Label.model_validate(said)


def test_the_page_has_every_table_of_the_code():
    assert [(name, int(parts)) for name, parts in table("Numbers")[1:]] == list(wire.FIELDS)
    extras = [(path, _kind_words(path, kind)) for path, kind in wire.EXTRAS]
    assert [tuple(row) for row in table("Extras")[1:]] == extras
    assert numbered("point") == dict(enumerate(POINTS))
    assert numbered("state") == dict(enumerate(STATES))
    assert [row[0] for row in table("Choices")[1:]] == [path for path, _ in wire.CHOICES]


def _kind_words(path, kind):
    if isinstance(kind, int):
        return f"parts: {kind}"
    return ", ".join({True: "yes", False: "no"}.get(choice, str(choice)) for choice in kind)
