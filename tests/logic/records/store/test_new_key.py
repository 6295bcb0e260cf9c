"""A store that was set back goes on with a new key, which its old one vouches for."""

import shutil

from logic.records.bundle.exporting import export_bundle
from logic.records.bundle.importing import import_bundle, look_at_bundle
from logic.records.keys import KEY_FILE, RENEW, RETIRED
from logic.records.store import backup
from logic.records.store.exchange import Agreed
from logic.records.store.store import FILE, Store
from tests.logic.records.scenes import befriend, van


def test_after_a_restore_other_phones_go_on_believing_this_one(tmp_path):
    here, copy = tmp_path / "a", tmp_path / "copy.db"
    with Store.open(here, "phone-a") as store, Store.open(tmp_path / "b", "phone-b") as other:
        befriend(store, other)
        van(store, "LIB 042")
        backup.copy(here / FILE, copy)
        van(store, "VET 117")
        export_bundle(store, tmp_path / "a.zip")
        import_bundle(other, tmp_path / "a.zip")
        old = store.own_key
    backup.restore(copy, here / FILE)
    with Store.open(here, "phone-a") as store, Store.open(tmp_path / "b", "phone-b") as other:
        van(store, "BEE 338")
        assert store.own_key != old
        assert next(iter(store.chain_of(store.own_key)))["number"] == 1
        export_bundle(store, tmp_path / "a.zip")
        would = look_at_bundle(other, tmp_path / "a.zip")
        assert [(offer.name, offer.by) for offer in would.open_offers] == [("phone-a", "phone-a")]
        came = import_bundle(other, tmp_path / "a.zip", agreed=Agreed(keys=True))
        assert (came.events, came.held, came.repeated_numbers) == (1, {}, 0)
        assert [key.name for key in came.new_keys] == ["phone-a"]
    with Store.open(here, "phone-a") as store:
        van(store, "BUS 12")
    assert {path.name for path in here.glob("device.key*")} == {KEY_FILE}


def test_a_kill_at_any_moment_of_the_change_leaves_the_new_key_vouched_for(tmp_path):
    with Store.open(tmp_path / "a", "phone-a") as store:
        van(store)
        old = store.own_key
    for name in (RENEW, RETIRED):
        folder = tmp_path / name
        shutil.copytree(tmp_path / "a", folder)
        if name == RENEW:  # asked for, not begun
            (folder / RENEW).touch()
        else:  # the old one put away, the new one not written yet
            (folder / KEY_FILE).rename(folder / RETIRED)
        with Store.open(folder, "phone-a") as store:
            van(store, "NEW 1")
            keys = store.workshop_keys()
            assert store.own_key != old
            said = [one for one in store._db["key_statement"].rows if one["by"] == old]
            assert store.own_key in {one["key"] for one in said}
            assert keys[old].is_trusted


def test_a_rescued_store_goes_on_with_a_new_key(tmp_path):
    with Store.open(tmp_path, "phone-a") as store:
        van(store)
        old = store.own_key
    path = tmp_path / FILE
    path.write_bytes(path.read_bytes()[: 8 * 4096])
    with Store.open(tmp_path, "phone-a") as store:
        assert "damaged" in store.notices[0]
        van(store, "NEW 1")
        assert store.own_key != old
