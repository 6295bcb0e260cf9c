"""``verify`` on who signed a record and on what stands outside the workshop: label and key."""

import hashlib
import io
import json

import pytest
from click.testing import CliRunner
from PIL import Image

from logic.desk.main import office
from logic.desk.verify import INTACT, NOT_COMPARED, NOT_INTACT, NOT_SIGNED, UNKNOWN_KEY
from logic.records.bundle.exporting import export_bundle
from logic.records.bundle.importing import import_bundle
from logic.records.keys import key_id
from logic.records.label.encoding import encode
from logic.records.paper.reader import check_pdf
from logic.records.paper.report import compose
from logic.records.store.store import Store
from tests.logic.records import scenes
from tests.logic.records.paper.forged_prints import (
    Dissected,
    a_white_box_over_a_reading,
    saved_by_another_program,
)
from tests.logic.records.sample_records import PUBLIC, commissioning, signed
from tests.paths import RELEASES


def saved(sealed, folder, name="record.json"):
    path = folder / name
    path.write_text(sealed.model_dump_json(), encoding="utf-8")
    return str(path)


def printed(sealed, folder, change=bytes, name="record.pdf"):
    path = folder / name
    path.write_bytes(change(compose(sealed, {}.get)))
    return str(path)


def white_box(content):
    print_ = Dissected(content)
    a_white_box_over_a_reading(print_)
    return print_.written()


@pytest.fixture
def ours(folder):
    """A record that the store's own device signed."""
    with Store.open(folder) as store:
        return next(store.sealed_records())


@pytest.fixture
def own_key(folder):
    with Store.open(folder) as store:
        return store.own_key


@pytest.fixture
def abroad(tmp_path):
    """Call a command where there is no store."""

    def call(*arguments, status=INTACT, **more):
        nowhere = ["--store", str(tmp_path / "nowhere"), *arguments]
        result = CliRunner().invoke(office, nowhere, **more)
        assert result.exit_code == status, result.output
        return result

    return call


def test_a_record_of_ours_is_said_to_be(run, ours, own_key, tmp_path):
    for file in (saved(ours, tmp_path), printed(ours, tmp_path)):
        said = run("verify", file, status=INTACT).output
        assert "Signed by a device of ours: " in said
        assert f"key {key_id(own_key)}" in said


def test_a_strangers_signature_is_good_and_not_known_here(run, tmp_path):
    said = run("verify", saved(signed(commissioning()), tmp_path), status=UNKNOWN_KEY).output
    assert ": intact: " in said
    assert f"a key that is not known here: {key_id(PUBLIC)}. Compare it" in said
    assert PUBLIC in said


def test_where_there_is_no_store_a_key_can_be_named(abroad, tmp_path):
    file = saved(signed(commissioning()), tmp_path)
    assert "not known here" in abroad("verify", file, status=UNKNOWN_KEY).output
    grouped = " ".join(PUBLIC[at : at + 8] for at in range(0, 64, 8)).upper()
    assert "which you named" in abroad("verify", file, "--key", grouped).output
    assert "not known" in abroad("verify", file, "--key", "0" * 64, status=UNKNOWN_KEY).output


def test_a_keys_short_name_is_no_key(run, ours, tmp_path):
    said = run("verify", saved(ours, tmp_path), "--key", key_id(PUBLIC), status=1).stderr
    assert "give all its 64 digits" in said


def test_a_record_of_release_0_1_0_is_sealed_and_not_signed(abroad):
    said = abroad("verify", str(RELEASES / "0.1.0.callback.json"), status=NOT_SIGNED).output
    assert "Sealed, not signed, as before release 0.2" in said


@pytest.fixture
def of_a_lost_phone(folder, tmp_path):
    """A phone's record as a file, and its exchange file; its key was ours and is withdrawn."""

    def make(is_here):
        bundle = tmp_path / "phone.voltwalk"
        with Store.open(folder) as store, Store.open(tmp_path / "phone", "van phone") as phone:
            store.say_of_key(phone.own_key, "van phone", "trusted")
            scenes.signed_van(phone, "SAW 051")
            export_bundle(phone, bundle)
            if is_here:
                import_bundle(store, bundle)
            store.say_of_key(phone.own_key, "", "withdrawn")
            return saved(next(phone.sealed_records()), tmp_path)

    return make


def test_a_withdrawn_key_counts_no_more(run, of_a_lost_phone):
    said = run("verify", of_a_lost_phone(is_here=False), status=UNKNOWN_KEY).output
    assert "which was ours and is not since" in said


def test_what_a_withdrawn_key_signed_and_is_here_stays(run, of_a_lost_phone):
    said = run("verify", of_a_lost_phone(is_here=True), status=INTACT).output
    assert "the record was here before" in said


def test_a_record_that_is_not_signed_is_not_signed_with_the_key_that_was_named(abroad):
    file = str(RELEASES / "0.1.0.callback.json")
    said = abroad("verify", file, "--key", PUBLIC, status=UNKNOWN_KEY).output
    assert "Not signed at all" in said


# A signature that was changed.


def changed(sealed, folder, **parts):
    data = json.loads(sealed.model_dump_json()) | parts
    path = folder / "changed.json"
    path.write_text(json.dumps(data), encoding="utf-8")
    return str(path)


def test_a_signature_that_was_taken_out_is_told(run, ours, tmp_path):
    said = run("verify", changed(ours, tmp_path, signature=None), status=NOT_INTACT).output
    assert "Its signature was taken out" in said


@pytest.mark.parametrize(
    "signature",
    [
        {"key": PUBLIC, "signature": "0" * 128},
        {"key": "f" * 64, "signature": "0" * 128},
    ],
)
def test_a_signature_that_is_not_good_is_told(run, ours, tmp_path, signature):
    said = run("verify", changed(ours, tmp_path, signature=signature), status=NOT_INTACT).output
    assert "was not made under this record" in said


def test_a_key_of_small_order_signs_nothing(run, ours, tmp_path):
    """Under such a key one text in four or so has this signature (RFC 8032, 5.1.7, unchecked)."""
    signature = {"key": "00" * 32, "signature": "00" * 64}
    run("verify", changed(ours, tmp_path, signature=signature), status=NOT_INTACT)


@pytest.mark.parametrize("signature", ["x", {}, {"key": 1}, [], {"key": PUBLIC, "signature": "00"}])
def test_what_is_no_signature_is_told(run, ours, tmp_path, signature):
    said = run("verify", changed(ours, tmp_path, signature=signature), status=NOT_INTACT).output
    assert "it is of the wrong form" in said


def test_a_record_signed_with_another_key_than_it_names_is_told(run, ours, folder, tmp_path):
    with Store.open(tmp_path / "stranger") as stranger:
        text = f"voltwalk-seal-1\n{ours.sha256}\n".encode()
        signature = json.loads(stranger.sign(text).model_dump_json())
    said = run("verify", changed(ours, tmp_path, signature=signature), status=NOT_INTACT).output
    assert "signed with another key than the record names" in said


# The label.


def test_its_own_label_fits(run, ours, tmp_path):
    file, code = saved(ours, tmp_path), encode(ours)
    assert "intact" in run("verify", file, "--label", code).output
    assert "intact" in run("verify", file, "--label", "-", input=f" {code.lower()}\n").output


def test_another_label_is_named(run, ours, folder, tmp_path):
    with Store.open(folder) as store:
        other = list(store.sealed_records())[1]
    said = run("verify", saved(ours, tmp_path), "--label", encode(other), status=NOT_INTACT).output
    assert f"names the record with the SHA-256 {other.sha256}; this one has {ours.sha256}" in said


def test_a_record_sealed_anew_does_not_fit_the_label_on_the_vehicle(run, ours, tmp_path):
    anew = signed(ours.record.model_copy(update={"place": "elsewhere"}))
    said = run("verify", saved(anew, tmp_path), "--label", encode(ours), status=NOT_INTACT).output
    assert "It is a label of the same vehicle" in said


def test_what_is_no_label_is_said(run, ours, tmp_path):
    said = run("verify", saved(ours, tmp_path), "--label", "hello", status=1).stderr
    assert "not a commissioning label" in said


# Exit statuses.


def test_pages_that_were_not_compared_have_a_status_of_their_own(run, ours, tmp_path):
    file = printed(ours, tmp_path, saved_by_another_program)
    said = run("verify", file, status=NOT_COMPARED).output
    assert "the record inside is intact; these pages were NOT compared with it: print it" in said
    assert "another program may have saved it anew" in said


def test_an_older_print_is_not_compared(abroad):
    file = str(RELEASES / "0.1.0.pdf")
    said = abroad("verify", file, status=NOT_SIGNED).output
    assert "the record inside is intact, NOT SIGNED; these pages were NOT compared" in said
    assert "laid out by another version" in said
    sha256 = check_pdf(RELEASES / "0.1.0.pdf").sha256
    abroad("verify", file, "--hash", sha256, status=NOT_COMPARED)


def test_the_worst_of_several_files_is_the_status(run, ours, tmp_path):
    sound = saved(ours, tmp_path)
    saved_anew = printed(ours, tmp_path, saved_by_another_program)
    strange = saved(signed(commissioning()), tmp_path, "strange.json")

    forged = printed(ours, tmp_path, white_box, "forged.pdf")
    run("verify", sound, status=INTACT)
    run("verify", sound, saved_anew, status=NOT_COMPARED)
    run("verify", saved_anew, strange, sound, status=UNKNOWN_KEY)
    said = run("verify", strange, forged, saved_anew, status=NOT_INTACT).output
    assert "forged.pdf: NOT INTACT\n  What is drawn on page 2" in said


def test_a_strangers_print_that_was_not_compared_has_the_worse_status(run, tmp_path):
    file = printed(signed(commissioning()), tmp_path, saved_by_another_program)
    run("verify", file, status=UNKNOWN_KEY)


def test_what_was_signed_can_be_printed_anew_from_a_forged_print(abroad, ours, own_key, tmp_path):
    forged = printed(ours, tmp_path, white_box, "forged.pdf")
    anew = tmp_path / "anew.pdf"
    asked = ("--key", own_key)
    said = abroad("verify", forged, "--print", str(anew), *asked, status=NOT_INTACT).output
    assert "anew.pdf: what was signed, printed anew" in said
    abroad("verify", str(anew), *asked, status=INTACT)


def test_a_print_anew_has_the_photos_of_the_one_that_was_given(abroad, tmp_path):
    content = io.BytesIO()
    Image.linear_gradient("L").convert("RGB").save(content, "JPEG")
    digest = hashlib.sha256(content.getvalue()).hexdigest()
    file, anew = tmp_path / "with_photo.pdf", tmp_path / "anew.pdf"
    file.write_bytes(compose(signed(commissioning(digest)), {digest: content.getvalue()}.get))
    abroad("verify", str(file), "--print", str(anew), "--key", PUBLIC)
    assert anew.read_bytes() == file.read_bytes()


def test_a_photo_left_out_of_a_print_although_it_is_at_hand_is_named(abroad, tmp_path):
    content = io.BytesIO()
    Image.linear_gradient("L").convert("RGB").save(content, "JPEG")
    digest = hashlib.sha256(content.getvalue()).hexdigest()
    photos, file, anew = tmp_path / "photos", tmp_path / "without.pdf", tmp_path / "anew.pdf"
    photos.mkdir()
    file.write_bytes(compose(signed(commissioning(digest)), {}.get))
    given = ("verify", str(file), "--key", PUBLIC, "--photos", str(photos))
    assert "photos that the record names are not shown" in abroad(*given).output
    (photos / f"{digest}.jpg").write_bytes(content.getvalue())
    said = abroad(*given, "--print", str(anew), status=NOT_COMPARED).output
    assert "the record inside is intact; these pages LEAVE OUT what is at hand: print it" in said
    assert (
        f"A photo is left out that is at hand: Photo of the unit as fitted, SHA-256 {digest}"
        in said
    )
    abroad("verify", str(anew), "--key", PUBLIC, "--photos", str(photos), status=INTACT)


def test_a_large_photo_is_not_said_to_be_left_out_where_it_is_shown_smaller(abroad, tmp_path):
    content = io.BytesIO()
    Image.linear_gradient("L").convert("RGB").resize((2000, 1500)).save(content, "JPEG")
    digest = hashlib.sha256(content.getvalue()).hexdigest()
    (tmp_path / f"{digest}.jpg").write_bytes(content.getvalue())
    file = printed(signed(commissioning(digest)), tmp_path)
    (tmp_path / "record.pdf").write_bytes(
        compose(signed(commissioning(digest)), {digest: content.getvalue()}.get)
    )
    abroad("verify", file, "--key", PUBLIC, "--photos", str(tmp_path), status=INTACT)


def test_what_was_changed_after_signing_is_not_printed_anew(run, ours, tmp_path):
    file = changed(ours, tmp_path, sha256="0" * 64)
    said = run("verify", file, "--print", str(tmp_path / "anew.pdf"), status=1).stderr
    assert "nothing to print anew" in said
    assert not (tmp_path / "anew.pdf").exists()


def test_one_file_is_printed_anew_at_a_time(run, ours, tmp_path):
    file = saved(ours, tmp_path)
    said = run("verify", file, file, "--print", str(tmp_path / "anew.pdf"), status=1).stderr
    assert "Give one FILE with --print" in said


def test_a_print_anew_never_replaces_what_was_given(run, ours, tmp_path):
    file = printed(ours, tmp_path)
    said = run("verify", file, "--print", file, status=1).stderr
    assert "must not replace FILE" in said


def test_photos_in_a_named_folder_are_asked_for(run, ours, tmp_path):
    file = printed(ours, tmp_path)
    (tmp_path / "photos").mkdir()
    assert "intact: " in run("verify", file, "--photos", str(tmp_path / "photos")).output


def test_the_texts_of_a_hostile_file_stay_on_their_lines(run, ours, tmp_path):
    record = commissioning(place="x")
    vehicle = record.vehicle.model_copy(update={"registration": "A\nok: intact"})
    path = saved(signed(record.model_copy(update={"vehicle": vehicle})), tmp_path)
    said = run("verify", path, status=UNKNOWN_KEY).output
    assert not any(line.startswith("ok: intact") for line in said.splitlines())


# Files that are a record to one reader and something else to another.


def as_a_page(sealed, what, encoding="utf-8"):
    """Return a record's file with a document for other readers in what no hash covers."""
    data = json.loads(sealed.model_dump_json())
    return json.dumps({"parts": {"a": what}} | data | {"parts": {"a": what}}).encode(encoding)


@pytest.mark.parametrize(
    ("what", "encoding"),
    [
        ("%PDF-1.4 1 0 obj", "utf-8"),
        ("%PDF-1.4 1 0 obj", "utf-16"),
        (b"%PDF-1.4\n".decode("utf-16-le", "replace"), "utf-16"),
        ("<html><h1>House battery 12.41 V, not accepted</h1>", "utf-8"),
    ],
)
def test_a_file_that_another_reader_shows_otherwise_is_not_intact(
    run, ours, tmp_path, what, encoding
):
    path = tmp_path / "record.pdf"
    path.write_bytes(as_a_page(ours, what, encoding))
    run("verify", str(path), status=NOT_INTACT)


def test_a_record_in_which_a_viewer_would_find_a_pdf_is_judged_as_one(run, tmp_path):
    path = saved(signed(commissioning(place="%PDF-1.7")), tmp_path)
    assert "PDF" in run("verify", path, status=NOT_INTACT).stderr
