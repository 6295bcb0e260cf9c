"""What a release left behind is read by every later version: its store, its print, its bundle."""

import shutil

import pytest

from logic.errors import BundleError
from logic.records.bundle.importing import import_bundle
from logic.records.paper.reader import check_pdf
from logic.records.paper.report import write_pdf
from logic.records.record import SealedRecord
from logic.records.store.exchange import Agreed
from logic.records.store.store import FILE, Store
from logic.records.verify import chain_complaints, check
from tests.paths import RELEASES

STORES = sorted(RELEASES.glob("*.db"))
PRINTS = sorted(RELEASES.glob("*.pdf"))
BUNDLES = sorted(RELEASES.glob("*.voltwalk"))


def test_a_store_a_print_and_a_bundle_are_kept_of_release_0_1_0():
    kept = [path.name for path in (*STORES, *PRINTS, *BUNDLES)]
    assert {"0.1.0.db", "0.1.0.pdf", "0.1.0.voltwalk"} <= set(kept)


@pytest.fixture(params=STORES, ids=lambda path: path.stem)
def store(request, tmp_path):
    shutil.copy(request.param, tmp_path / FILE)
    with Store.open(tmp_path) as store:
        yield store


def test_every_record_in_a_stored_release_verifies_and_its_revisions_are_one_chain(store):
    jobs = {sealed.record.job_id for sealed in store.sealed_records()}
    assert jobs
    for job_id in jobs:
        revisions = store.sealed(job_id)
        assert [check(sealed).complaints for sealed in revisions] == [()] * len(revisions)
        assert chain_complaints(revisions) == ()


def test_a_record_of_a_stored_release_prints_and_the_print_is_intact(store, tmp_path):
    sealed = next(store.sealed_records())
    write_pdf(sealed, store.photo_path, tmp_path / "record.pdf")
    printed = check_pdf(tmp_path / "record.pdf", known_sha256=sealed.sha256)
    assert printed.complaints == ()
    assert printed.sealed == sealed


@pytest.mark.parametrize("path", PRINTS, ids=lambda path: path.stem)
def test_a_print_of_a_release_is_intact_and_its_record_can_be_printed_again(path, tmp_path):
    old = check_pdf(path)
    assert old.complaints == ()
    assert isinstance(old.sealed, SealedRecord)
    write_pdf(old.sealed, {}.get, tmp_path / "again.pdf")
    assert check_pdf(tmp_path / "again.pdf", known_sha256=old.sha256).complaints == ()


@pytest.mark.parametrize("path", BUNDLES, ids=lambda path: path.stem)
def test_a_bundle_of_a_release_is_taken_in(path, tmp_path):
    with Store.open(tmp_path) as store:
        with pytest.raises(BundleError, match="carries no signature"):
            import_bundle(store, path)
        brought = import_bundle(store, path, agreed=Agreed(unsigned=True))
        assert brought.signers[0][0].words == "no key (made before 0.2)"
        assert (brought.vehicles, brought.sealed, brought.photos) == (1, 2, 1)
        assert all(check(sealed).intact for sealed in store.sealed_records())
