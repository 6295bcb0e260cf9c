"""``verify`` on the chain of a job's revisions; single records are in ``test_office_export``.

Who signed, and which witnesses there are outside the workshop, is in ``test_office_witnesses``.
"""

import hashlib
import json
import shutil

import pytest
import rfc8785
from click.testing import CliRunner

from logic.desk.main import office
from logic.desk.verify import NOT_INTACT, NOT_SIGNED, UNREAD
from logic.records.events import Event, JobReopened
from logic.records.label.encoding import encode
from logic.records.record import SealedRecord
from logic.records.seal import seal
from logic.records.store.store import Store
from tests.logic.records import scenes
from tests.paths import RELEASES


@pytest.fixture
def revisions(folder, tmp_path):
    """Three revisions of one job as files, and in the store."""
    with Store.open(folder) as store:
        vehicle_id, job_id = scenes.signed_van(store, "SAW 051")
        for reason in ("fuse changed", "lug crimped anew"):
            body = JobReopened(reason=reason)
            store.append(Event(vehicle_id=vehicle_id, job_id=job_id, body=body))
            store.seal(scenes.record_of(vehicle_id, job_id), scenes.private())
        kept = store.sealed(job_id)
    return [saved(sealed, tmp_path) for sealed in kept]


def saved(sealed, folder, name=""):
    path = folder / f"{name or sealed.record.revision}.json"
    path.write_text(sealed.model_dump_json(), encoding="utf-8")
    return path


def opened(path):
    return SealedRecord.model_validate_json(path.read_text(encoding="utf-8"))


@pytest.fixture
def verify(run, folder, tmp_path):
    """Check files with the store, or on a desk that has none and was told the workshop's key."""

    def call(*files, status=0, without_store=False):
        if not without_store:
            return run("verify", *map(str, files), status=status).output
        with Store.open(folder) as store:
            key = store.own_key
        nowhere = ["--store", str(tmp_path / "nowhere"), "verify", "--key", key]
        result = CliRunner().invoke(office, [*nowhere, *map(str, files)])
        assert result.exit_code == status, result.output
        return result.output

    return call


def test_revisions_that_follow_each_other_are_one_chain(verify, revisions):
    assert "BKS 207, commissioning: 3 revisions, one chain" in verify(
        *revisions, without_store=True
    )


def test_a_revision_by_itself_names_the_one_before_it_that_was_not_given(verify, revisions):
    said = verify(revisions[1], without_store=True)
    assert "NOT" not in said
    before = opened(revisions[0]).sha256
    assert f"revision 2 names one before it, SHA-256 {before}, which was not given" in said


def test_a_first_revision_by_itself_is_held_against_nothing(verify, revisions):
    assert "chain" not in verify(revisions[0], without_store=True)


def test_a_revision_that_the_store_does_not_hold_is_told(verify, revisions, folder, tmp_path):
    third = opened(revisions[2])
    update = {"revision": 4, "previous_sha256": third.sha256, "chain": None}
    record = third.record.model_copy(update=update)
    fourth = saved(seal(record, scenes.private(), third.sha256), tmp_path)
    said = verify(fourth, status=NOT_SIGNED)
    assert "the store has this job, but no record of its revision 4" in said
    assert "4 revisions, one chain" in said


def test_of_a_job_that_is_strange_to_the_store_nothing_is_asked(verify, revisions, tmp_path):
    record = opened(revisions[0]).record.model_copy(update={"job_id": "0" * 32, "chain": None})
    strange = saved(seal(record, scenes.private(), None), tmp_path, "strange")
    assert "the store has this job" not in verify(strange, status=NOT_SIGNED)


def test_a_revision_by_itself_is_held_against_those_in_the_store(verify, revisions):
    assert "3 revisions, one chain" in verify(revisions[2])


def test_a_missing_revision_is_told(verify, revisions):
    said = verify(revisions[0], revisions[2], status=1, without_store=True)
    assert said.count(": intact") == 2
    assert "NOT ONE CHAIN\n  Revision 2 is missing.\n" in said


def test_many_missing_revisions_are_told_at_once(verify, revisions, tmp_path):
    record = opened(revisions[0]).record.model_copy(update={"revision": 10_000})
    far = saved(seal(record, scenes.private(), "c" * 64), tmp_path)
    said = verify(revisions[0], far, status=1, without_store=True)
    assert "Revisions 2 to 9999 are missing." in said


def test_a_revision_that_names_another_before_it_is_told(verify, revisions, tmp_path):
    record = opened(revisions[1]).record.model_copy(update={"place": "yard"})
    stranger = saved(seal(record, scenes.private(), "c" * 64), tmp_path, "stranger")
    said = verify(revisions[0], stranger, status=1, without_store=True)
    assert "Revision 2 does not name the one before it." in said


def test_another_record_than_the_stores_under_the_same_revision_is_told(
    verify, revisions, tmp_path
):
    first = opened(revisions[0])
    record = first.record.model_copy(update={"place": "yard"})
    other = saved(seal(record, scenes.private(), None), tmp_path, "other")
    said = verify(other, status=1)
    assert "other.json: intact" in said
    assert f"another record as revision 1 of this job, SHA-256 {first.sha256}" in said
    assert "Revision 1 was signed on two devices" in said


def test_a_changed_record_is_no_link_of_the_chain(verify, revisions):
    data = json.loads(revisions[1].read_text(encoding="utf-8"))
    data["record"]["place"] = "yard"
    revisions[1].write_text(json.dumps(data), encoding="utf-8")
    said = verify(*revisions, status=1, without_store=True)
    assert "2.json: NOT INTACT" in said
    assert "Revision 2 is missing." in said


def test_copies_of_one_revision_are_one_link(verify, revisions, tmp_path):
    copy = saved(opened(revisions[0]).model_copy(update={"private": None}), tmp_path, "copy")
    said = verify(revisions[0], copy, without_store=True)
    assert "chain" not in said


# A revision that a later one replaced.


@pytest.mark.parametrize("without_store", [False, True])
def test_what_a_later_revision_replaced_is_said_in_the_first_line(verify, revisions, without_store):
    given = revisions[::2] if not without_store else revisions
    first, *_ = verify(*given, without_store=without_store).splitlines()
    assert "1.json: intact, but revision 3 replaced it: BKS 207" in first


def test_the_last_revision_is_replaced_by_none(verify, revisions):
    assert "replaced" not in verify(revisions[2])


def test_a_strangers_later_revision_replaces_nothing(verify, revisions, tmp_path):
    third = opened(revisions[2])
    record = third.record.model_copy(update={"revision": 4, "chain": None})
    fourth = saved(seal(record, scenes.private(), third.sha256), tmp_path)
    assert "replaced" not in verify(revisions[2], fourth, status=NOT_SIGNED)


# What this version cannot read as a record.


def of_a_later_version(sealed, key=None, **changes):
    """Return a record's file with one more name in it, sealed and signed by the given store."""
    record = json.loads(sealed.record.model_dump_json()) | {"later": 1} | changes
    if key is None:
        record.pop("chain", None)
    digest = hashlib.sha256(rfc8785.dumps(record)).hexdigest()
    data = {"record": record, "private": None, "sha256": digest}
    if key is not None:
        signed = key.sign(f"voltwalk-seal-1\n{digest}\n".encode())
        data["signature"] = json.loads(signed.model_dump_json())
    return json.dumps(data)


def test_a_record_of_a_later_version_is_never_called_intact(verify, revisions, folder, tmp_path):
    path = tmp_path / "later.json"
    with Store.open(folder) as store:
        text = of_a_later_version(opened(revisions[0]), store, job_id="0" * 32)
    path.write_text(text, encoding="utf-8")
    said = verify(path, status=UNREAD)
    assert "later.json: as its hash says, but NOT READ by this version: SHA-256" in said
    path.write_text(of_a_later_version(opened(revisions[0]), job_id="0" * 32), encoding="utf-8")
    verify(path, status=NOT_SIGNED)


@pytest.mark.parametrize("number", [1, 2, 3, "1", 2.5, None, True, -1])
@pytest.mark.parametrize("is_signed", [True, False])
def test_of_a_job_that_the_store_has_nothing_unread_passes_for_its_records(
    verify, revisions, folder, tmp_path, number, is_signed
):
    path = tmp_path / "later.json"
    with Store.open(folder) as store:
        key = store if is_signed else None
        text = of_a_later_version(opened(revisions[0]), key, revision=number)
    path.write_text(text, encoding="utf-8")
    said = verify(path, status=NOT_INTACT)
    assert "knows its revisions up to 3; this record is none of them" in said


@pytest.mark.parametrize("without_store", [False, True])
def test_one_more_name_beside_a_record_is_told(verify, revisions, without_store):
    data = json.loads(revisions[0].read_text(encoding="utf-8")) | {"note": "x"}
    revisions[0].write_text(json.dumps(data), encoding="utf-8")
    said = verify(revisions[0], status=NOT_INTACT, without_store=without_store)
    assert 'a part named "note", which no signed record has' in said


def test_a_change_to_a_record_that_cannot_be_read_is_named_from_the_stores_copy(verify, revisions):
    data = json.loads(revisions[0].read_text(encoding="utf-8"))
    data["record"] |= {"later": 1, "place": "yard"}
    revisions[0].write_text(json.dumps(data), encoding="utf-8")
    said = verify(revisions[0], status=NOT_INTACT)
    assert 'place was "" and is "yard".' in said


# Records that nobody signed.


def unsigned(sealed, **changes):
    record = sealed.record.model_copy(update={"chain": None, **changes})
    return seal(record, scenes.private(), record.previous_sha256)


def test_a_record_stripped_of_its_signature_is_not_called_intact(verify, revisions, tmp_path):
    first = opened(revisions[0])
    strange = saved(unsigned(first, job_id="0" * 32), tmp_path, "strange")
    said = verify(strange, status=NOT_SIGNED)
    assert "strange.json: intact, NOT SIGNED: " in said
    assert "Anybody can make such a record" in said
    same_job = saved(unsigned(first, place="yard"), tmp_path, "same_job")
    verify(same_job, status=NOT_INTACT)


def test_a_record_that_nobody_signed_is_vouched_for_by_the_store_that_holds_it(
    run, folder, tmp_path
):
    bundle = shutil.copy(RELEASES / "0.1.0.voltwalk", tmp_path / "old.voltwalk")
    run("import", str(bundle), "--unsigned", "--yes")
    with Store.open(folder) as store:
        old = [one for one in store.sealed_records() if one.signature is None]
    assert old
    for sealed in old:
        said = run("verify", str(saved(sealed, tmp_path))).output
        assert "the store holds this very record" in said


def test_a_record_that_nobody_signed_is_vouched_for_by_a_hash_from_elsewhere(run, tmp_path):
    file = str(RELEASES / "0.1.0.callback.json")
    sha256 = opened(RELEASES / "0.1.0.callback.json").sha256
    run("verify", file, status=NOT_SIGNED)
    assert "the one that you gave" in run("verify", file, "--hash", sha256).output
    run("verify", file, "--hash", "0" * 64, status=NOT_INTACT)


def test_a_label_without_a_signature_vouches_for_nothing(run, tmp_path):
    old = opened(RELEASES / "0.1.0.callback.json")
    file = str(RELEASES / "0.1.0.callback.json")
    said = run("verify", file, "--label", encode(old), status=NOT_SIGNED).output
    assert "so is the label" in said
