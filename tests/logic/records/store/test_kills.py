"""A seeded sample of the kills; tests/benchmarks/kills.py does all thousand."""

import random

from logic.records.bundle.exporting import export_bundle
from logic.records.bundle.importing import import_bundle
from logic.records.store.store import Store
from tests.logic.records.scenes import signed_van
from tests.logic.records.store.killing import kill_once


def test_nothing_said_to_be_saved_is_lost_when_the_process_is_killed(tmp_path):
    chance = random.Random(5)
    killed = [kill_once(tmp_path, chance, 40) for _ in range(40)]
    assert sum(kill.said for kill in killed) > 40
    assert [kill.missing for kill in killed] == [()] * 40
    assert {kill.check for kill in killed} == {"ok"}
    assert {kill.notices for kill in killed} == {()}


def test_a_kill_while_a_bundle_is_imported_leaves_all_of_it_or_nothing(tmp_path):
    with Store.open(tmp_path / "from") as store:
        for number in range(8):
            signed_van(store, f"FHA {number}")
        export_bundle(store, tmp_path / "all.zip")
        whole = len(list(store.events()))
    outcomes = set()
    chance = random.Random(6)
    for number in range(24):
        folder = tmp_path / f"to-{number}"
        kill_once(
            folder, chance, 1, 0.05, lambda to, say: import_there(to, tmp_path / "all.zip", say)
        )
        with Store.open(folder) as store:
            outcomes.add(len(list(store.events())))
            assert store.notices == ()
    assert outcomes <= {0, whole}


def import_there(folder, bundle, say):
    with Store.open(folder) as store:
        say("")  # the store is open
        import_bundle(store, bundle)
