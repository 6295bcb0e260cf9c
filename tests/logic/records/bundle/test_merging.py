import os
import shutil
from datetime import timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from logic.checklist.answers import ReadingAnswer
from logic.records.bundle.exporting import export_bundle
from logic.records.bundle.importing import import_bundle
from logic.records.events import (
    CustomerDescribed,
    CustomerErased,
    Event,
    JobOpened,
    StepAnswered,
    StepSkipped,
    VehicleDescribed,
)
from logic.records.keys import own_key
from logic.records.store import held_back
from logic.records.store.exchange import Agreed
from logic.records.store.store import FILE, Store
from logic.records.store.vehicle_table import rebuild
from logic.vehicle.identity import Customer, Vehicle
from tests.logic.records.scenes import START

VEHICLES = ("a" * 32, "b" * 32)
JOBS = {VEHICLES[0]: "c" * 32, VEHICLES[1]: "d" * 32}

ALL = Agreed(unsigned=True, erasures=True, ahead=True)

names = st.sampled_from(["Dr Wren", "Orchard bees", "Bookmobile trust"])
bodies = st.one_of(
    names.map(lambda name: VehicleDescribed(vehicle=Vehicle(registration=name[:6]))),
    names.map(lambda name: CustomerDescribed(customer=Customer(name=name))),
    st.just(CustomerErased()),
    st.builds(
        lambda step, value: StepAnswered(step_id=step, answer=ReadingAnswer(value=value)),
        st.sampled_from(["one", "two"]),
        st.floats(-50, 50),
    ),
    st.builds(StepSkipped, step_id=st.sampled_from(["one", "two"]), reason=names),
)
deeds = st.tuples(st.sampled_from(VEHICLES), bodies, st.integers(0, 600))
phones = st.lists(st.lists(deeds, max_size=6), min_size=2, max_size=3)


def beginning(folder):
    """Open the two jobs on a phone of their own and export it: what all the others begin with."""
    with Store.open(folder / "first", "first") as store:
        for vehicle_id, job_id in JOBS.items():
            opened = Event(
                event_id=job_id,
                vehicle_id=vehicle_id,
                job_id=job_id,
                at=START,
                body=JobOpened(job_kind="commissioning"),
            )
            store.append(opened)
        export_bundle(store, folder / "first.zip")
        return store.own_key


def work(folder, number, deeds):
    """Do some deeds on one phone and export what it then knows."""
    if not (folder / "first.zip").exists():
        beginning(folder)
    with Store.open(folder / f"phone-{number}", f"phone-{number}") as store:
        store.say_of_key(key_of(folder / "first"), "first", "trusted")
        import_bundle(store, folder / "first.zip")
        for vehicle_id, body, minutes in deeds:
            at = START + timedelta(minutes=minutes)
            job_id = JOBS[vehicle_id] if hasattr(body, "step_id") else None
            store.append(Event(vehicle_id=vehicle_id, job_id=job_id, at=at, body=body))
        path = folder / f"{number}.zip"
        export_bundle(store, path)
        return path


def key_of(folder):
    return own_key(folder)[0].public


def known(store):
    return (
        sorted(store.events(), key=lambda event: event.event_id),
        sorted(held_back.every(store._db), key=lambda held: held.sha256),
        [store.vehicle(vehicle_id) for vehicle_id in VEHICLES],
        store.find_vehicles(),
    )


# The full run: HYPOTHESIS_MERGES=400 pytest tests/logic/records/bundle/test_merging.py --timeout 0
@settings(max_examples=int(os.environ.get("HYPOTHESIS_MERGES", "12")), deadline=None)
@given(phones, st.data())
def test_bundles_merge_to_the_same_in_any_order_and_number(tmp_path_factory, phones, data):
    folder = tmp_path_factory.mktemp("merge")
    bundles = [work(folder, number, deeds) for number, deeds in enumerate(phones)]
    outcomes = []
    for place in ("one", "other"):
        order = data.draw(st.permutations(bundles * 2))
        with Store.open(folder / place, place) as store:
            # The second phone's key is vouched for by the first one's, at a moment of its own.
            store.say_of_key(key_of(folder / "first"), "first", "trusted")
            told = data.draw(st.integers(0, len(order)))
            for number, bundle in enumerate([*order, None]):
                if number == told:
                    for one in range(len(phones)):
                        store.say_of_key(key_of(folder / f"phone-{one}"), f"phone-{one}", "trusted")
                if bundle:
                    import_bundle(store, bundle, agreed=ALL)
            for bundle in order:  # what was held back for its key is asked about once it is known
                import_bundle(store, bundle, agreed=ALL)
            # Merging what was merged, exported again, adds nothing either.
            export_bundle(store, folder / f"{place}.zip")
            assert import_bundle(store, folder / f"{place}.zip").events == 0
            assert list(held_back.every(store._db)) == []
            outcomes.append(known(store))
    assert outcomes[0] == outcomes[1]
    shutil.rmtree(folder)


@settings(max_examples=10, deadline=None)
@given(st.lists(deeds, max_size=12))
def test_the_derived_tables_are_the_same_when_rebuilt_from_the_events(tmp_path_factory, deeds):
    folder = tmp_path_factory.mktemp("rebuild")
    work(folder, 0, deeds)
    with Store.open(folder / "phone-0") as store:
        before = known(store)
        with store._db.conn:
            rebuild(store._db)
        assert known(store) == before
    assert (folder / "phone-0" / FILE).exists()
    shutil.rmtree(folder)
