import json
import sqlite3
from contextlib import closing
from datetime import UTC, datetime

import pytest

from logic.records.keys import DeviceKey, shown
from logic.records.store.store import FILE, Store
from logic.records.trusted_keys import stated
from tests.logic.records import scenes


def test_a_bundle_goes_to_another_desk_and_twice_is_once(run, tmp_path, desk_that_trusts):
    bundle, there = tmp_path / "all.voltwalk", desk_that_trusts
    run("export", "--format", "bundle", "--to", str(bundle))
    said = run("--store", str(there), "import", str(bundle), str(bundle)).output
    assert "2 signed records, 2 photos." in said
    assert "Everything in it was here already" in said
    assert run("--store", str(there), "list").output == run("list").output


def test_a_bundle_can_leave_the_customer_out(run, tmp_path, desk_that_trusts):
    bundle, there = tmp_path / "van.voltwalk", desk_that_trusts
    run("export", "LIB 042", "--format", "bundle", "--without-customer", "--to", str(bundle))
    run("--store", str(there), "import", str(bundle))
    assert "Bookmobile" not in run("--store", str(there), "show", "LIB").output


def test_a_file_that_is_no_bundle_is_refused_and_nothing_changes(run, folder, tmp_path):
    (tmp_path / "no.voltwalk").write_bytes(b"PK\x03\x04 nothing")
    before = run("list").output
    assert run("import", str(tmp_path / "no.voltwalk"), status=1).stderr.startswith("Error: ")
    assert run("list").output == before


def test_a_backup_restores_vehicles_and_photos(run, folder, tmp_path):
    run("backup", str(tmp_path / "stick"))
    (copy,) = (tmp_path / "stick").glob("*.db")
    there = tmp_path / "there"
    said = run("--store", str(there), "restore", str(copy), "--yes").output
    assert "3 vehicles, 2 photos" in said
    assert run("--store", str(there), "list").output == run("list").output
    assert "0 new photos" in run("backup", str(tmp_path / "stick")).output


def test_restoring_asks_first_and_keeps_what_was_there(run, folder, tmp_path):
    run("backup", str(tmp_path / "stick"))
    (copy,) = (tmp_path / "stick").glob("*.db")
    run("restore", str(copy), input="n\n", status=1)
    said = run("restore", str(copy), input="y\n").output
    assert "is kept as" in said


def test_what_somebody_put_into_a_backup_is_told_when_it_is_restored(run, folder, tmp_path):
    run("backup", str(tmp_path / "stick"))
    (copy,) = (tmp_path / "stick").glob("*.db")
    forger = DeviceKey.fresh()
    word = stated(forger, forger.public, "Desk", "trusted", datetime.now(UTC))
    with closing(sqlite3.connect(copy)) as connection, connection:
        connection.execute("DROP TRIGGER event_never_changed")
        connection.execute("UPDATE event SET body = replace(body, '12.71', '14.2')")
        connection.execute(
            "INSERT INTO key_statement VALUES (?, ?, ?, ?, ?)",
            (word.sha256, word.key, word.by, "2026-01-01", word.model_dump_json()),
        )
        connection.execute(
            "UPDATE setting SET value = json_insert(value, '$[#]', ?) WHERE name = 'own_keys'",
            (forger.public,),
        )
    said = run("restore", str(copy), "--yes").stderr
    assert "put back: trigger event_never_changed" in said
    assert "is not what its device signed" in said
    assert f"a key is believed that was not before: {shown(forger.public)} Desk" in said
    run("keys", "--withdraw", forger.public)


def test_restoring_something_else_is_refused(run, folder, tmp_path):
    (tmp_path / "no.db").write_bytes(b"no database at all" * 100)
    before = (folder / FILE).read_bytes()
    assert "not a sound backup" in run("restore", str(tmp_path / "no.db"), "--yes", status=1).stderr
    assert (folder / FILE).read_bytes() == before


def test_restore_without_a_name_lists_the_copies_or_says_that_there_are_none(run, tmp_path):
    run("list")
    assert "backups" in run("restore").output
    assert "no copies" in run("--store", str(tmp_path / "x"), "restore", status=1).stderr


def test_erasing_takes_the_name_and_leaves_a_record_that_verifies(run, tmp_path):
    run("erase", "LIB 042", input="n\n", status=1)
    assert "Bookmobile" in run("show", "LIB 042").output
    assert "are erased here" in run("erase", "LIB 042", "--yes").output
    assert "Bookmobile" not in run("show", "LIB 042").output
    run("export", "LIB 042", "--to", str(tmp_path / "r.pdf"))
    assert "intact" in run("verify", str(tmp_path / "r.pdf")).output


def test_a_step_answered_on_two_phones_is_named_at_import_and_shown(
    run, folder, tmp_path, desk_that_trusts
):
    there, bundle = desk_that_trusts, tmp_path / "b.voltwalk"
    run("export", "BEE", "--format", "bundle", "--to", str(bundle))
    run("--store", str(there), "import", str(bundle))
    for place, value in ((folder, 12.4), (there, 12.9)):
        with Store.open(place) as store:
            (row,) = store.find_vehicles("BEE")
            scenes.answer(store, row.vehicle_id, row.open_job, "start_voltage", value)
    run("--store", str(there), "export", "BEE", "--format", "bundle", "--to", str(bundle))
    assert (
        "answered on two devices: BEE 338, step start_voltage" in run("import", str(bundle)).output
    )
    assert "answered differently on 2 devices: Start voltage" in run("show", "BEE").output


def test_photos_that_are_not_here_are_counted(run, folder, tmp_path):
    for photo in (folder / "photos").iterdir():
        photo.unlink()
    said = run("export", "--format", "bundle", "--to", str(tmp_path / "b.voltwalk"))
    assert "2 photos are not on this device" in said.stderr


def test_a_bundle_needs_a_files_name(run, tmp_path):
    assert (
        "Name a file with --to"
        in run("export", "--format", "bundle", "--to", str(tmp_path), status=1).stderr
    )


def test_a_folder_that_cannot_be_used_is_one_line(run, tmp_path):
    (tmp_path / "file").write_text("in the way", encoding="utf-8")
    said = run("backup", str(tmp_path / "file" / "deeper"), status=1).stderr
    assert said.startswith("Error: ")
    assert len(said.splitlines()) == 1


def test_what_an_erasure_did_and_could_not_do_is_listed_without_the_name(run, tmp_path):
    run("backup", str(tmp_path / "stick"))
    for form in ("json", "pdf", "bundle"):
        run("export", "LIB 042", "--format", form, "--to", str(tmp_path / f"out.{form}"))
    run("export", "--format", "json", "--to", str(tmp_path / "all"))
    said = run("erase", "LIB 042", "--yes").output
    assert "Bookmobile" not in said
    with Store.open(tmp_path / "store") as store:
        (row,) = store.find_vehicles("LIB 042")
    ours = {one for one in (tmp_path / "all").iterdir() if row.vehicle_id in one.read_text()}
    assert len(ours) == 1
    told = [line for line in said.splitlines() if "by this desk" in line]
    listed = {line[4:].partition(". It was")[0] for line in told}
    assert listed == set(map(str, ours | set(tmp_path.glob("out.*"))))
    (copy,) = (tmp_path / "stick").glob("*.db")
    run("--store", str(tmp_path / "again"), "restore", str(copy), "--yes")
    assert "Bookmobile" not in run("--store", str(tmp_path / "again"), "show", "LIB 042").output
    assert "Bookmobile" in run("--store", str(tmp_path / "again"), "show", "VET 117").output


def test_a_backup_that_brings_an_erased_customer_back_says_so(run, tmp_path):
    run("backup", str(tmp_path / "stick"))
    (copy,) = (tmp_path / "stick").glob("*.db")
    away = copy.rename(tmp_path / "away.db")
    run("erase", "LIB 042", "--yes")
    said = run("restore", str(away), "--yes").output
    assert "LIB 042: the customer's data was erased before and is back" in said
    assert "VET 117" not in said


def test_files_that_the_desk_wrote_go_when_that_is_wanted(run, tmp_path):
    path = tmp_path / "out.pdf"
    run("export", "LIB 042", "--to", str(path))
    run("erase", "LIB 042", input="y\nn\n")
    assert path.exists()
    # Asked once more, when the name itself is forgotten here.
    assert "The file out.pdf." in run("erase", "LIB 042", "--yes", "--files").output
    assert not path.exists()


def test_a_backup_that_is_not_there_is_named(run, tmp_path):
    run("backup", str(tmp_path / "stick"))
    (copy,) = (tmp_path / "stick").glob("*.db")
    copy.rename(tmp_path / "elsewhere.db")
    assert "Bring it back, then erase once more" in run("erase", "LIB 042", "--yes").output


@pytest.mark.parametrize(("asked", "left"), [("y\ny\n", False), ("y\nn\n", True)])
def test_a_text_with_a_part_of_the_name_is_asked_about(run, folder, asked, left):
    with Store.open(folder) as store:
        (row,) = store.find_vehicles("VET")
        job = scenes.open_job(store, row.vehicle_id, "callback")
        cause = {"kind": "cause_concluded", "cause": "the bookmobile was parked askew"}
        event = scenes.Event(vehicle_id=row.vehicle_id, job_id=job, body=cause)
        store.append(event)
    said = run("erase", "VET 117", input=asked).output
    assert "may name the customer: the bookmobile was parked askew" in said
    assert ("askew" in run("show", "VET 117").output) == left


@pytest.mark.parametrize("called", ["LIB", "042", "-", " "])
def test_erasing_wants_the_whole_plate_or_the_id(run, called):
    assert "No vehicle fits" in run("erase", called, "--yes", status=1).stderr
    assert "Bookmobile" in run("show", "LIB 042").output


def test_erasing_by_the_id_that_list_shows(run):
    (found,) = json.loads(run("find", "LIB 042", "--json").output)
    run("erase", found["vehicle_id"][:12], "--yes")
    assert "Bookmobile" not in run("show", "LIB 042").output
