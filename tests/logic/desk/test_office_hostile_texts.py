"""Texts that others wrote, at the desk: what acts on a terminal, an option, or a spreadsheet.

Expected values: Unicode's categories (UAX #44, table 12) and its marks for reading order
(UAX #9, 2); ECMA-48, 5.4 for the terminal's escapes; "Injection of formulas into cells" is
judged by the four signs that begin one (common practice, no published source).
"""

import ast
import csv
import io
import json
import os
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logic.desk.csv_table import write_table
from logic.desk.terminal import aligned, as_json, escaped, plain, say
from logic.records.record import SealedRecord
from logic.records.store.store import Store
from tests.logic.records import sample_records, scenes
from tests.paths import CHECKOUT

CLEAR_LINE = "\x1b[2K\r"
TURNED = "\u202e"  # right-to-left override, UAX #9
ACTING = [CLEAR_LINE, "\x9b2K", TURNED, "\u2066", "\u200b", "\u2028", "\ufeff", "\x08\x08", "\x07"]
BLANK = ["\u2800", "\u3164", "\u115f", "\u1160", "\uffa0", "\u034f", "\u17b4", "\u17b5"]


def acts(text):
    """Say which characters move a cursor, turn the order or look blank, from the tables by hand.

    Braille's empty cell, the fillers of Hangul and three marks: Unicode's code charts.
    """
    ranges = (
        (0x00, 0x09),
        (0x0B, 0x1F),
        (0x7F, 0x9F),
        (0xAD, 0xAD),
        (0x61C, 0x61C),
        (0x034F, 0x034F),
        (0x115F, 0x1160),
        (0x17B4, 0x17B5),
        (0x200B, 0x200F),
        (0x2028, 0x202E),
        (0x2060, 0x206F),
        (0x2800, 0x2800),
        (0x3164, 0x3164),
        (0xFFA0, 0xFFA0),
        (0xD800, 0xDFFF),
        (0xFEFF, 0xFEFF),
        (0xE0000, 0xE007F),
    )
    return [one for one in text if any(low <= ord(one) <= high for low, high in ranges)]


@pytest.mark.parametrize("sign", [*ACTING, *BLANK])
def test_nothing_that_acts_on_a_terminal_passes(sign):
    assert acts(plain(f"LIB{sign}042")) == []
    assert "LIB" in plain(f"LIB{sign}042")
    assert acts(escaped(json.dumps({"a": f"LIB{sign}042"}, ensure_ascii=False))) == []


@given(st.text())
def test_a_plain_text_is_one_line_without_acting_signs_and_json_says_the_same(text):
    assert acts(plain(text)) == []
    assert "\n" not in plain(text)
    assert acts(as_json([text])) == []
    assert json.loads(as_json([text])) == [text]


@pytest.mark.parametrize("text", ["LIB 042", "Žiga's ute", "軽トラック", "סירה", "12.6 V ± 0.1 µΩ"])
def test_what_can_be_read_stays_as_it_is(text):
    assert plain(text) == text


def test_marks_piled_up_do_not_paint_over_other_lines():
    assert plain("a" + "\u0301" * 60).count("\u0301") <= 4


@pytest.mark.parametrize("space", [" ", "\u00a0", "\u2003", "\u3000", "\t", "\r"])
def test_a_row_of_spaces_puts_no_text_on_a_line_of_its_own(space):
    said = plain(f"x{space * 60}folder/a.pdf: intact")
    assert not re.search(r"\s{9}", said)
    assert "folder/a.pdf: intact" in said


def test_columns_stay_where_they_are(capsys):
    lines = aligned([("a" * 30, "b"), ("c", "d" + " " * 60 + "e")], 4)
    say(*lines)
    assert capsys.readouterr().out.splitlines() == list(lines)
    assert lines[1] == "    c" + " " * 31 + "d <60 spaces> e"


def test_a_cell_with_a_line_break_stays_in_its_row():
    assert aligned([("a\nb", "c"), ("d", "e")]) == ["a b  c", "d    e"]


@pytest.fixture
def hostile(folder):
    """A vehicle whose every text tries to clear the line and to turn the order round."""
    bad = f"{CLEAR_LINE}{TURNED}intact"
    with Store.open(folder) as store:
        vehicle = scenes.van(store, "EVIL 1", description=f"van{bad}")
        scenes.customer(store, vehicle, f"Bookmobile{bad}", f"desk{bad}")
        scenes.install(store, vehicle)
        job = scenes.open_job(store, vehicle)
        steps = (
            sample_records.step("any", "any", f"Title{bad}", outcome="done", text=f"said{bad}"),
        )
        store.seal(scenes.record_of(vehicle, job, steps=steps), scenes.private())
        opened = scenes.open_job(store, vehicle, "callback")
        conclusion = {"kind": "cause_concluded", "cause": f"c{bad}", "repair": f"r{bad}"}
        store.append(scenes.Event(vehicle_id=vehicle, job_id=opened, body=conclusion))
    return folder


@pytest.mark.parametrize(
    "call",
    [
        ("list",),
        ("list", "--json"),
        ("find", "EVIL"),
        ("show", "EVIL 1"),
        ("stats",),
        ("stats", "--json"),
        ("export", "EVIL 1", "--format", "json"),
    ],
)
def test_no_command_prints_what_acts_on_a_terminal(run, hostile, call):
    result = run(*call)
    assert "EVIL 1" in result.output or call[0] in ("stats", "export")
    assert acts(result.output) == []


def printed():
    """Yield what each module of the desk hands to the terminal, but for the one that may."""
    for path in sorted((CHECKOUT / "logic" / "desk").glob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            called = ast.unparse(node.func) if isinstance(node, ast.Call) else ""
            if path.name != "terminal.py" and called in ("click.echo", "print"):
                yield path.name, node.args[0]


def test_every_command_prints_through_what_makes_texts_plain():
    calls = list(printed())
    assert len(calls) > 4
    for name, text in calls:
        assert isinstance(text, ast.Call), (name, ast.unparse(text))
        assert ast.unparse(text.func) in ("as_json", "escaped", "plain"), (name, ast.unparse(text))


def test_a_csv_on_the_screen_acts_on_no_terminal(run, hostile):
    out = run("export", "EVIL 1", "--format", "csv").stdout
    assert [one for one in acts(out) if one != "\r"] == []


def test_an_error_that_quotes_a_text_is_plain(run):
    result = run("show", f"no{CLEAR_LINE}{TURNED}such", status=1)
    assert acts(result.stderr) == []
    assert len(result.stderr.splitlines()) == 1


# Names that begin like an option.


@pytest.mark.parametrize("name", ["--hash=0123456789abcdef", "-h", "--help", "--json"])
def test_a_files_name_is_never_taken_for_an_option(run, tmp_path, monkeypatch, name):
    monkeypatch.chdir(tmp_path)
    (tmp_path / name).write_text("{}", encoding="utf-8")
    (tmp_path / "sound.json").write_text("{}", encoding="utf-8")
    said = run("verify", *sorted(os.listdir(tmp_path)), status=2).stderr
    assert f"'{name}' is the name of a file here" in said
    assert f"{name}: " in run("verify", "--", name, status=1).stderr
    assert f"{name}: " in run("verify", f"./{name}", status=1).stderr


def test_a_plate_that_begins_with_dashes_is_found_after_two_dashes(run, folder):
    with Store.open(folder) as store:
        scenes.van(store, "--JSON")
    assert run("show", "--", "--JSON").output.startswith("--JSON")


@pytest.mark.parametrize("plate", ["--HELP", "-1", "../../ETC", "軽"])
@pytest.mark.parametrize("form", ["pdf", "json", "label"])
def test_a_written_file_never_has_a_name_that_is_an_option(run, folder, tmp_path, plate, form):
    with Store.open(folder) as store:
        vehicle = scenes.van(store, plate)
        job = scenes.open_job(store, vehicle)
        record = scenes.record_of(vehicle, job)
        named = record.model_copy(
            update={"vehicle": record.vehicle.model_copy(update={"registration": plate})}
        )
        store.seal(named, scenes.private())
    out = tmp_path / "out"
    out.mkdir()
    run("export", "--format", form, "--to", str(out), "--", plate)
    [written] = out.iterdir()
    assert written.name[0].isalnum()


# Cells of a table.


def cells(text):
    step = sample_records.step("any", "any", text, outcome="done", text="said")
    record = sample_records.commissioning(steps=(step,))
    sealed: SealedRecord = sample_records.seal(record)
    out = io.StringIO(newline="")
    write_table([sealed], out)
    [row] = csv.DictReader(io.StringIO(out.getvalue(), newline=""))
    return row["check"], out.getvalue()


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "＝", "＋", "－", "＠", "﹦", "﹢"])
@pytest.mark.parametrize("before", ["", " ", "\t", "\u00a0", "\u3000", "\ufeff", "\u200b", "\x00"])
@pytest.mark.parametrize("lead", ["", "sound\n", "sound\r\n", "sound\r", "sound\t", "s\u2028"])
def test_no_part_of_a_cell_begins_a_formula(start, before, lead):
    cell, _ = cells(f"{lead}{before}{start}HYPERLINK(1)")
    parts = cell.replace("\u2028", "\n").replace("\t", "\n").splitlines()
    assert all(part.strip("\u00a0\u3000 ")[:1] not in tuple("=+-@＝＋－＠﹦﹢") for part in parts)
    assert "HYPERLINK(1)" in cell


@pytest.mark.parametrize("text", ["12.6 V, -0.3 V", "a = b", "jane@example", "(-0.3 V)", "0-5 V"])
def test_what_is_no_formula_is_left_as_it_is(text):
    assert cells(text)[0] == text


def test_a_reader_that_splits_at_semicolons_gets_no_cell_of_its_own():
    _, text = cells("sound;=1+1")
    assert all(row.startswith('"') for row in text.splitlines())
    assert [row[0] for row in csv.reader(io.StringIO(text), delimiter=";")][1:] != ["=1+1"]
