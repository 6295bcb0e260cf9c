import csv
import io
import json

import pytest
from pypdf import PdfReader

from logic.case import Case
from logic.desk.verify import NOT_COMPARED
from logic.records.record import Record, SealedRecord
from logic.records.store.store import Store
from logic.words.digits import in_groups
from tests.logic.records import sample_records, scenes


def pages(path):
    return " ".join(page.extract_text() for page in PdfReader(path).pages)


def test_the_pdf_of_one_vehicle_verifies(run, tmp_path):
    path = tmp_path / "record.pdf"
    run("export", "LIB 042", "--to", str(path))
    assert "BKS 207" in pages(path)  # the plate that was signed for
    assert "intact" in run("verify", str(path)).output


def test_everything_goes_into_a_folder_a_file_a_record(run, tmp_path):
    run("export", "--format", "json", "--to", str(tmp_path / "all"))
    files = sorted((tmp_path / "all").iterdir())
    assert len(files) == 2
    said = run("verify", *map(str, files)).output
    assert said.count("intact: ") == 2


def test_one_json_goes_to_the_standard_output_and_back_through_a_pipe(run):
    text = run("export", "LIB 042", "--format", "json").stdout
    assert SealedRecord.model_validate_json(text).record.revision == 1
    assert "intact" in run("verify", "-", input=text).output


def test_a_changed_json_is_not_intact_and_each_change_is_named(run, tmp_path):
    text = run("export", "LIB 042", "--format", "json").stdout
    path = tmp_path / "changed.json"
    path.write_text(text.replace('"value": 12.6', '"value": 13.1'), encoding="utf-8")
    said = run("verify", str(path), status=1).output
    assert "NOT INTACT" in said
    assert "was 12.6 and is 13.1" in said


@pytest.fixture
def saved(run, tmp_path):
    path = tmp_path / "record.json"
    path.write_text(run("export", "LIB 042", "--format", "json").stdout, encoding="utf-8")
    return path


@pytest.mark.parametrize("shape", [str, "SHA-256:{}".format, in_groups, "{}\n".format])
def test_the_hash_may_be_typed_scanned_or_in_groups(run, saved, shape):
    known = SealedRecord.model_validate_json(saved.read_text(encoding="utf-8")).sha256
    assert "intact: " in run("verify", str(saved), "--hash", shape(known).upper()).output
    other = shape("0" * 64)
    assert "was expected" in run("verify", str(saved), "--hash", other, status=1).output


@pytest.mark.parametrize("shape", ["{:.12}", "{:.16}…", "SHA-256 {:.63}", "{:.32}..."])
def test_a_part_of_a_hash_is_refused(run, saved, shape):
    known = SealedRecord.model_validate_json(saved.read_text(encoding="utf-8")).sha256
    said = run("verify", str(saved), "--hash", shape.format(known), status=1)
    assert "give all 64" in said.stderr
    assert "intact" not in said.output


@pytest.mark.parametrize("known", ["8d6", "record", "0" * 65, "0" * 63 + "g"])
def test_what_is_no_hash_is_said(run, saved, known):
    assert "is no SHA-256" in run("verify", str(saved), "--hash", known, status=1).stderr


@pytest.mark.parametrize("content", [b"", b"{}", b"%PDF-1.7\nnothing", b"\xff\xfe\x00", b"[1]"])
def test_what_is_no_record_is_said_and_the_others_are_still_checked(run, tmp_path, content):
    (tmp_path / "no.json").write_bytes(content)
    good = tmp_path / "good.json"
    good.write_text(run("export", "LIB 042", "--format", "json").stdout, encoding="utf-8")
    result = run("verify", str(tmp_path / "no.json"), str(good), status=1)
    assert "no.json: " in result.stderr
    assert "good.json: intact" in result.stdout


def test_csv_has_a_row_for_every_step_and_reading(run):
    rows = list(csv.DictReader(io.StringIO(run("export", "--format", "csv").stdout)))
    assert {row["registration"] for row in rows} == {"BKS 207"}
    read = [row for row in rows if row["point"] == "house_battery_voltage"]
    assert [(row["value"], row["unit"]) for row in read] == [("12.6", "V")] * 2


def test_csv_never_hands_a_spreadsheet_a_formula(run, folder, tmp_path):
    with Store.open(folder) as store:
        vehicle = scenes.van(store, "HUT 001")
        job = scenes.open_job(store, vehicle)
        note = sample_records.step("any", "any", "=1+1", outcome="done", text="@SUM(A1)")
        store.seal(scenes.record_of(vehicle, job, steps=(note,)), scenes.private())
    run("export", "HUT", "--format", "csv", "--to", str(tmp_path / "rows.csv"))
    text = (tmp_path / "rows.csv").read_text(encoding="utf-8-sig")
    assert "'=1+1" in text
    assert "'@SUM(A1)" in text


def test_the_customer_can_be_left_out_of_a_print(run, tmp_path):
    run("export", "LIB 042", "--without-customer", "--to", str(tmp_path / "r.pdf"))
    assert "Bookmobile" not in pages(tmp_path / "r.pdf")
    said = run("verify", str(tmp_path / "r.pdf"), status=NOT_COMPARED).output
    assert "LEAVE OUT what is at hand" in said
    assert "The names and signatures are left out, and the store holds them." in said
    run("verify", str(tmp_path / "r.pdf"), "--print", str(tmp_path / "w.pdf"), status=NOT_COMPARED)
    assert "Bookmobile" in pages(tmp_path / "w.pdf")
    run("verify", str(tmp_path / "w.pdf"))


def test_only_the_latest_revision_is_printed_unless_asked(run, folder, tmp_path):
    with Store.open(folder) as store:
        vehicle, job = scenes.signed_van(store, "SAW 051")
        body = scenes.Event(
            vehicle_id=vehicle, job_id=job, body={"kind": "job_reopened", "reason": "again"}
        )
        store.append(body)
        store.seal(scenes.record_of(vehicle, job), scenes.private())
    assert json.loads(run("export", "SAW", "--format", "json").stdout)["record"]["revision"] == 2
    run("export", "SAW", "--format", "json", "--every-revision", "--to", str(tmp_path / "both"))
    assert len(list((tmp_path / "both").iterdir())) == 2


def test_nothing_signed_is_nothing_to_export(run):
    assert "Nothing is signed there yet" in run("export", "BEE", status=1).stderr


@pytest.mark.parametrize("ending", ["pdf", "png"])
def test_a_label_can_be_printed_again_and_its_code_read_out(run, tmp_path, ending):
    path = tmp_path / f"label.{ending}"
    run("export", "LIB 042", "--format", "label", "--to", str(path))
    assert path.stat().st_size > 1000


def test_a_labels_code_becomes_a_case_with_a_baseline(run, folder):
    from logic.records.label.encoding import encode

    with Store.open(folder) as store:
        code = encode(next(store.sealed_records()))
    case = Case.from_json(run("label", "-", "--case", input=f" {code}\n").output)
    assert [reading.value for reading in case.baseline] == [12.6]
    assert json.loads(run("label", code).output)["registration"] == "BKS 207"
    assert "not a commissioning label" in run("label", "hello", status=1).stderr


def test_the_printed_label_says_what_it_holds(run, tmp_path):
    run("export", "LIB 042", "--format", "label", "--to", str(tmp_path / "l.pdf"))
    said = " ".join(pages(tmp_path / "l.pdf").split())
    assert "paste its text there: 1 reading to compare with." in said


def test_csv_into_a_folder_asks_for_a_files_name(run, tmp_path):
    said = run("export", "--format", "csv", "--to", str(tmp_path), status=1).stderr
    assert "Name a file with --to" in said


def test_a_changed_record_is_checked_without_a_store_too(run, tmp_path):
    text = run("export", "LIB 042", "--format", "json").stdout
    changed = text.replace('"value": 12.6', '"value": 13.1')
    elsewhere = str(tmp_path / "no_store")
    assert "NOT INTACT" in run("--store", elsewhere, "verify", "-", input=changed, status=1).output


def test_csv_says_fault_finding_readings_before_and_after(run, folder):
    with Store.open(folder) as store:
        vehicle = scenes.van(store, "SAW 051")
        job = scenes.open_job(store, vehicle, "callback")
        told = sample_records.callback().model_dump() | {"vehicle_id": vehicle, "job_id": job}
        store.seal(Record.model_validate(told), scenes.private())
    rows = list(csv.DictReader(io.StringIO(run("export", "SAW", "--format", "csv").stdout)))
    found = [(row["stage"], row["point"], row["value"], row["verdict"]) for row in rows]
    assert ("before", "vehicle_return_drop", "0.92", "") in found
    assert ("after", "vehicle_return_drop", "0.118", "in range") in found
