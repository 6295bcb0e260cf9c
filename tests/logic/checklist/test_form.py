import copy
import hashlib
import shutil
import tomllib
from contextlib import suppress
from pathlib import Path

import pytest
import rfc8785
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from logic.checklist.form import load
from logic.checklist.step import Stage
from logic.data_files import checked, read
from logic.diagnosis import catalogue
from logic.errors import DataFileError
from tests.paths import BROKEN, CHECKLISTS

EXPECTED = tomllib.loads((BROKEN / "expected.toml").read_text(encoding="utf-8"))


@pytest.fixture
def library_folder(tmp_path):
    """The real cautions, symptoms, presets and faults with the small sound checklist."""
    folder = tmp_path / "checklists"
    folder.mkdir()
    for name in ("cautions.toml", "symptoms.toml"):
        shutil.copy(CHECKLISTS / name, folder)
    shutil.copy(catalogue.FILE, folder)
    shutil.copytree(CHECKLISTS / "presets", folder / "presets")
    shutil.copytree(BROKEN / "sound", folder / "sound")
    return folder


def test_the_sound_checklist_that_the_broken_ones_start_from_loads(library_folder):
    assert [step.id for step in load(library_folder).checklists["sound"].steps] == [
        "look",
        "measure",
        "agree",
    ]


def read_everything(folder):
    load(folder)
    catalogue.read(folder / "faults.toml")


@pytest.mark.parametrize("name", EXPECTED)
def test_a_broken_file_is_named_with_its_place_and_what_to_do(name, library_folder):
    target = library_folder / EXPECTED[name]["takes_the_place_of"]
    shutil.copy(BROKEN / f"{name}.toml", target)
    with pytest.raises(DataFileError) as caught:
        read_everything(library_folder)
    message = str(caught.value)
    missing = [word for word in EXPECTED[name]["words"] if word not in message]
    assert missing == [], message
    assert "\n" not in message


def test_every_broken_file_has_its_expected_words_and_the_other_way_round():
    files = {path.stem for path in BROKEN.glob("*.toml")} - {"expected"}
    assert files == set(EXPECTED)
    assert all(entry["words"] for entry in EXPECTED.values())


def test_a_missing_file_is_named(library_folder):
    (library_folder / "cautions.toml").unlink()
    with pytest.raises(DataFileError, match=r"cautions\.toml: cannot be read .* Put it back"):
        load(library_folder)


def test_a_folder_without_a_checklist_says_what_one_is(library_folder):
    shutil.rmtree(library_folder / "sound")
    with pytest.raises(DataFileError, match=r"holds no checklist.*checklist\.toml"):
        load(library_folder)


def test_a_group_of_presets_that_nobody_asks_for_is_named(library_folder):
    (library_folder / "presets" / "cabels.toml").write_text("presets = []")
    with pytest.raises(DataFileError, match=r"cabels\.toml: is no group.*'cables'"):
        load(library_folder)


def test_the_digest_is_that_of_the_canonical_json_of_what_is_written():
    checklist = load(CHECKLISTS).checklists["fault_finding"]
    folder = CHECKLISTS / "fault_finding"
    written = tomllib.loads((folder / "checklist.toml").read_text(encoding="utf-8"))
    del written["budget_minutes"]  # the author's, not the technician's: no part of the content
    written["stages"] = [
        tomllib.loads((folder / f"{stage}.toml").read_text(encoding="utf-8"))
        for stage in written["stages"]
    ]
    assert checklist.sha256 == hashlib.sha256(rfc8785.dumps(written)).hexdigest()


def test_the_digest_changes_with_a_word_but_not_with_a_comment(library_folder):
    before = load(library_folder).checklists["sound"].sha256
    stage = library_folder / "sound" / "first.toml"
    text = stage.read_text(encoding="utf-8")
    stage.write_text("# a remark\n\n" + text.replace("\n\n", "\n\n\n"), encoding="utf-8")
    assert load(library_folder).checklists["sound"].sha256 == before
    stage.write_text(text.replace("Pull at it.", "Push at it."), encoding="utf-8")
    assert load(library_folder).checklists["sound"].sha256 != before


STAGE = (BROKEN / "sound" / "first.toml").read_bytes()


@settings(max_examples=300, deadline=None, suppress_health_check=list(HealthCheck))
@given(data=st.data())
def test_whatever_happens_to_a_file_it_loads_or_is_complained_about(data, tmp_path_factory):
    start = data.draw(st.integers(0, len(STAGE)))
    end = data.draw(st.integers(start, min(len(STAGE), start + 40)))
    scraps = st.sampled_from([b"", b'"', b"=", b"[[steps]]", b"{", b"]", b"\n", b"kind", b"1e999"])
    put_in = data.draw(st.one_of(st.binary(max_size=12), scraps))
    path = tmp_path_factory.mktemp("fuzz") / "first.toml"
    path.write_bytes(STAGE[:start] + put_in + STAGE[end:])
    with suppress(DataFileError):
        assert read(path, Stage).id


TABLE = tomllib.loads(STAGE.decode("utf-8"))
odd = st.recursive(
    st.one_of(
        st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=8), st.dates()
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3),
        st.dictionaries(st.sampled_from(["kind", "of", "id", "step", "x"]), inner, max_size=3),
    ),
    max_leaves=6,
)


@settings(max_examples=300, deadline=None)
@given(odd, st.sampled_from(["steps", "step", "ask", "when", "one_of", "id", "choices", "proves"]))
def test_whatever_value_stands_at_a_key_it_is_taken_or_complained_about(value, key):
    table = copy.deepcopy(TABLE)
    look, measure = table["steps"]
    places = {"steps": table, "ask": measure, "when": measure, "id": look, "choices": look["ask"]}
    if key == "step":
        table["steps"][1] = value
    elif key == "one_of":
        measure["when"] = {"kind": "location", "one_of": value}
    else:
        places.get(key, measure)[key] = value
    with suppress(DataFileError):
        assert checked(table, Stage, Path("sound/first.toml")).id
