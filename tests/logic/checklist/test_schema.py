import json
import subprocess
import sys
import tomllib

import jsonschema
import pytest

from logic.checklist.schema import FORMS, main, schema_files
from logic.diagnosis import catalogue
from tests.paths import CHECKOUT

CHECKLISTS = CHECKOUT / "checklists"
BROKEN = CHECKOUT / "tests" / "broken"
DATA_FILES = [*sorted(CHECKLISTS.rglob("*.toml")), catalogue.FILE]
# what a schema cannot see: grammar, ids against other files, one value against another
OF_THE_FORM = {
    "fault_with_an_unknown_part": "faults",
    "fault_without_its_parts": "faults",
    "question_without_kind": "stage",
    "id_with_a_space": "stage",
    "one_choice_only": "stage",
    "preset_with_an_unknown_field": "presets",
    "reading_without_state": "stage",
    "step_without_why": "stage",
    "symptom_with_an_unknown_point": "symptoms",
    "title_too_long": "stage",
    "unknown_condition": "stage",
    "unknown_key": "stage",
    "unknown_key_in_a_condition": "stage",
    "unknown_point": "stage",
    "version_nought": "checklist",
}


def schema_of(name):
    return json.loads((CHECKLISTS / "schema" / f"{name}.json").read_text(encoding="utf-8"))


def table_in(path):
    return tomllib.loads(path.read_text(encoding="utf-8"))


def named_by(path):
    first_line = path.read_text(encoding="utf-8").splitlines()[0]
    return (path.parent / first_line.removeprefix("#:schema ")).resolve()


def test_the_schemas_on_disk_are_those_of_the_forms():
    written = {path.name: path.read_text("utf-8") for path in (CHECKLISTS / "schema").iterdir()}
    assert written == dict(schema_files()), "run: python -m logic.checklist.schema checklists"


@pytest.mark.parametrize("name", FORMS)
def test_each_schema_is_one_by_the_json_schema_standard(name):
    jsonschema.Draft202012Validator.check_schema(schema_of(name))


@pytest.mark.parametrize("path", DATA_FILES, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_each_data_file_names_its_schema_and_fits_it(path):
    schema = json.loads(named_by(path).read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator(schema).validate(table_in(path))


@pytest.mark.parametrize("name", OF_THE_FORM)
def test_an_editor_with_the_schema_marks_the_broken_file(name):
    schema = jsonschema.Draft202012Validator(schema_of(OF_THE_FORM[name]))
    assert not schema.is_valid(table_in(BROKEN / f"{name}.toml"))


def test_all_are_written_into_the_folder_of_the_checklists(tmp_path):
    main(tmp_path)
    assert {path.name for path in (tmp_path / "schema").iterdir()} == {f"{n}.json" for n in FORMS}


def test_the_command_without_a_folder_says_what_to_type():
    run = subprocess.run(
        [sys.executable, "-m", "logic.checklist.schema"],
        cwd=CHECKOUT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.returncode == 1
    assert "python -m logic.checklist.schema checklists" in run.stderr
