"""What the desk says before it takes a file in, and whose keys it believes."""

import re
import shutil

import pytest

from logic.records.events import CustomerErased, Event
from logic.records.store.store import Store
from tests.logic.records import scenes
from tests.paths import RELEASES


@pytest.fixture
def bundle(run, tmp_path):
    path = tmp_path / "all.voltwalk"
    run("export", "--format", "bundle", "--to", str(path))
    return path


def own_key(said):
    return re.search("whole key ([0-9a-f]{64})", said).group(1)


def test_a_strangers_file_changes_nothing_and_says_whose_key_to_take_in(run, bundle, tmp_path):
    there = tmp_path / "there"
    looked = run("--store", str(there), "import", "--look", str(bundle)).output
    assert f"whole key {own_key(run('keys').output)}" in looked
    assert "Brings nothing" in looked
    refused = run("--store", str(there), "import", str(bundle), status=1).stderr
    assert "nothing in it by one that is" in refused
    assert "LIB 042" not in run("--store", str(there), "list").output


def test_a_key_is_listed_taken_in_and_withdrawn(run, bundle, tmp_path):
    there = str(tmp_path / "there")
    key = own_key(run("keys").output)
    grouped = " ".join(key[at : at + 8].upper() for at in range(0, 64, 8))
    said = run("--store", there, "keys", "--trust", grouped, "--name", "Van phone").output
    assert "Van phone, trusted since" in said
    assert "signed by Van phone" in run("--store", there, "import", str(bundle)).output
    short = re.search("([0-9a-f]{16})  Van phone", said).group(1)
    assert "withdrawn since" in run("--store", there, "keys", "--withdraw", short).output
    assert "LIB 042" in run("--store", there, "list").output


@pytest.mark.parametrize("key", ["", "12", "g" * 64, "a" * 63])
def test_what_is_no_key_is_refused(run, key):
    assert "is no key" in run("keys", "--trust", key or " ", status=1).stderr


def test_its_own_present_key_cannot_be_withdrawn_here(run):
    key = own_key(run("keys").output)
    assert "signs with" in run("keys", "--withdraw", key, status=1).stderr
    assert "No key" in run("keys", "--withdraw", "f" * 16, status=1).stderr


def test_looking_says_what_would_come_and_takes_nothing_in(run, bundle, desk_that_trusts):
    there = str(desk_that_trusts)
    said = run("--store", there, "import", "--look", str(bundle)).output
    assert "Brings 3 new vehicles" in said
    assert "Done" not in said
    assert "LIB 042" not in run("--store", there, "list").output


def test_an_erasure_is_asked_for_separately(run, folder, bundle, desk_that_trusts):
    there = str(desk_that_trusts)
    run("--store", there, "import", str(bundle))
    with Store.open(folder) as store:
        [row] = store.find_vehicles("LIB 042")
        store.append(Event(vehicle_id=row.vehicle_id, body=CustomerErased()))
    run("export", "--format", "bundle", "--to", str(bundle))
    said = run("--store", there, "import", str(bundle)).output
    assert "give --erasures" in said
    assert "Bookmobile" in run("--store", there, "show", "LIB 042").output
    said = run("--store", there, "import", "--erasures", str(bundle)).output
    assert "ERASES the customer of LIB 042" in said
    assert "Bookmobile" not in run("--store", there, "show", "LIB 042").output


def test_a_file_of_release_0_1_0_is_taken_in_when_that_is_asked_for(run, tmp_path):
    old = shutil.copy(RELEASES / "0.1.0.voltwalk", tmp_path / "old.voltwalk")
    assert "no signature" in run("import", str(old), status=1).stderr
    said = run("import", "--unsigned", str(old)).output
    assert "signed by no key (made before 0.2)" in said


def test_two_desks_pass_trust_on(run, folder, bundle, tmp_path):
    """A phone that the first desk vouches for is believed by whoever believes that desk."""
    phone, there = tmp_path / "phone", str(tmp_path / "there")
    with Store.open(phone, "bench phone") as store:
        scenes.signed_van(store, "BUS 12")
        key = store.own_key
    run("--store", str(phone), "export", "--format", "bundle", "--to", str(tmp_path / "p.voltwalk"))
    run("keys", "--trust", key, "--name", "bench phone")
    run("export", "--format", "bundle", "--to", str(bundle))
    run("--store", there, "keys", "--trust", own_key(run("keys").output), "--name", "desk")
    said = run("--store", there, "import", str(bundle)).output
    assert "vouches for the key of bench phone" in said
    assert "give --keys" in said
    run("--store", there, "import", str(tmp_path / "p.voltwalk"), status=1)  # not agreed to
    said = run("--store", there, "import", "--keys", str(bundle)).output
    assert "Believed from now on: the key of bench phone" in said
    said = run("--store", there, "import", str(tmp_path / "p.voltwalk")).output
    assert "signed by bench phone" in said
