"""Hostile and broken bundles: refused with a reason, and nothing changed."""

import hashlib
import json
import os
import random
import shutil
from zipfile import ZIP_BZIP2, ZIP_DEFLATED, ZipFile

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from logic.errors import AppError, BundleError
from logic.records.bundle import importing, reader
from logic.records.bundle.exporting import export_bundle
from logic.records.bundle.importing import import_bundle
from logic.records.bundle.manifest import signed_text
from logic.records.chain import SIGNED
from logic.records.events import new_id
from logic.records.keys import own_key
from logic.records.store.exchange import Agreed
from logic.records.store.store import FILE, Store
from logic.records.store.text_table import LEFT_OUT
from tests.logic.records.scenes import signed_van

# The full run: HYPOTHESIS_FUZZ=10000 pytest tests/logic/records/test_hostile.py
FUZZ = settings(
    max_examples=int(os.environ.get("HYPOTHESIS_FUZZ", "150")),
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)


@pytest.fixture(scope="module")
def sound(tmp_path_factory):
    """A sound bundle's parts by name."""
    folder = tmp_path_factory.mktemp("sound")
    with Store.open(folder / "store", "phone-a") as store:
        signed_van(store)
        export_bundle(store, folder / "sound.zip")
    with ZipFile(folder / "sound.zip") as archive:
        SENDER[:] = [own_key(folder / "store")[0]]
        return {name: archive.read(name) for name in archive.namelist()}


SENDER = []
"""The key of the phone that the sound bundle came from, which the store trusts."""


@pytest.fixture
def store(tmp_path, sound):
    with Store.open(tmp_path / "store", "phone-b") as store:
        store.say_of_key(SENDER[0].public, "phone-a", "trusted")
        yield store


def contents(store):
    return (
        list(store.events()),
        list(store.sealed_records()),
        sorted(store.folder.rglob("photos/*")),
        store.find_vehicles(),
    )


def packed(path, parts, compression=ZIP_DEFLATED):
    with ZipFile(path, "w", compression) as archive:
        for name, data in parts.items():
            archive.writestr(name, data)
    return path


def restated(sound, /, _key=None, **changes):
    """Let the manifest say what the parts really are, change what it says, and sign it."""
    key = _key or SENDER[0]
    manifest = json.loads(sound["manifest.json"])
    manifest["parts"] = [
        {"name": name, "bytes": len(data), "sha256": hashlib.sha256(data).hexdigest()}
        for name, data in sound.items()
        if name not in ("manifest.json", "signature.json")
    ]
    manifest |= {"events": sound["events.jsonl"].count(b"\n")} | changes
    return signed({**sound, "manifest.json": json.dumps(manifest).encode()}, key)


def signed(parts, key=None):
    """Sign whatever the manifest is, as a device of the workshop would."""
    key = key or SENDER[0]
    signature = key.sign(signed_text(parts["manifest.json"]))
    said = json.dumps({"key": key.public, "signature": signature}).encode()
    return {**parts, "signature.json": said}


def taken(store, path, **agreed):
    """Take a bundle in that has something amiss, and return what came of it."""
    return import_bundle(store, path, agreed=Agreed(**agreed))


def refused(store, path, why):
    before = contents(store)
    with pytest.raises(BundleError, match=why) as refusal:
        import_bundle(store, path)
    assert contents(store) == before
    return str(refusal.value)


def test_the_parts_as_they_are_import(store, sound, tmp_path):
    import_bundle(store, packed(tmp_path / "x.zip", restated(sound)))
    assert store.count_vehicles() == 1


@pytest.mark.parametrize(
    "name",
    [
        "../voltwalk.db",
        "/etc/cron.d/x",
        "photos/../../voltwalk.db",
        "photos/..",
        "..\\voltwalk.db",
        "C:\\x",
        "photos/" + "A" * 64,
        "photos/" + "a" * 64 + "/x",
        "photos/" + "a" * 64 + "\n",
        "extra.txt",
    ],
)
def test_a_name_that_leads_elsewhere_is_refused(store, sound, tmp_path, name):
    parts = restated({**sound, name: b"root"})
    refused(store, packed(tmp_path / "x.zip", parts), "no business in a bundle")
    assert not (tmp_path / "voltwalk.db").exists()


def test_a_zip_bomb_is_refused_before_it_is_unpacked(store, sound, tmp_path, monkeypatch):
    parts = restated({**sound, "events.jsonl": b"\n" * 60_000_000})
    path = packed(tmp_path / "x.zip", parts)
    assert path.stat().st_size < 200_000
    monkeypatch.setattr(ZipFile, "open", None)
    refused(store, path, "swell from .* to 60 MB")


def test_a_member_that_lies_about_its_size_is_refused(store, sound, tmp_path):
    # The central directory and the manifest say 1,000 bytes; the stream goes on for 60 million.
    parts = restated({**sound, "events.jsonl": b"\n" * 60_000_000}, events=7)
    manifest = json.loads(parts["manifest.json"])
    for part in manifest["parts"]:
        if part["name"] == "events.jsonl":
            part["bytes"] = 1000
    stated = signed({**parts, "manifest.json": json.dumps(manifest).encode()})
    path = packed(tmp_path / "x.zip", stated)
    data = path.read_bytes().replace(
        (60_000_000).to_bytes(4, "little"), (1000).to_bytes(4, "little")
    )
    path.write_bytes(data)
    refused(store, path, "damaged or no bundle|hash differs")


def test_more_lines_than_declared_are_refused(store, sound, tmp_path):
    parts = restated(sound, events=2)
    refused(store, packed(tmp_path / "x.zip", parts), "more lines than it says")


def test_a_billion_declared_rows_are_refused(store, sound, tmp_path):
    parts = restated(sound, events=1_000_000_000)
    refused(store, packed(tmp_path / "x.zip", parts), "events: .*less than or equal to 50000000")


def test_a_line_without_end_is_refused(store, sound, tmp_path):
    noise = random.Random(1).randbytes(3_000_000).hex().encode()
    parts = restated({**sound, "events.jsonl": noise}, events=1)
    refused(store, packed(tmp_path / "x.zip", parts), "line without end")


@pytest.mark.parametrize("name", ["events.jsonl", "sealed.jsonl", "customers.jsonl"])
def test_a_changed_part_is_refused_by_its_hash(store, sound, tmp_path, name):
    parts = {**sound, name: sound[name].replace(b"Okafor", b"Okapor").replace(b"desk 4", b"desk 5")}
    if parts[name] == sound[name]:
        parts[name] = sound[name].replace(b"BKS", b"BKT")
    refused(
        store, packed(tmp_path / "x.zip", parts), "hash differs|not what|not the customer|changed"
    )


def test_a_changed_photo_is_refused(store, sound, tmp_path):
    name = next(name for name in sound if name.startswith("photos/"))
    parts = {**sound, name: b"\xff\xd8\xffBKS 208"}
    refused(store, packed(tmp_path / "x.zip", parts), "hash differs")
    refused(store, packed(tmp_path / "y.zip", restated(parts)), "cannot be a photo")


def test_a_record_changed_with_a_fresh_manifest_is_refused_by_its_seal(store, sound, tmp_path):
    changed = sound["sealed.jsonl"].replace(b'"12.6 V"', b'"13.6 V"')
    parts = restated({**sound, "sealed.jsonl": changed})
    came = taken(store, packed(tmp_path / "x.zip", parts))
    assert (came.sealed, came.count_refused, len(list(store.sealed_records()))) == (0, 1, 0)
    assert "house_voltage" in came.refused[0].text
    assert "changed after signing" in came.summary


def test_an_event_that_contradicts_one_that_is_here_is_refused(store, sound, tmp_path):
    import_bundle(store, packed(tmp_path / "x.zip", sound))
    changed = sound["events.jsonl"].replace(b"BKS 207", b"BKS 208")
    assert changed != sound["events.jsonl"]
    parts = restated({**sound, "events.jsonl": changed})
    before = contents(store)
    came = taken(store, packed(tmp_path / "y.zip", parts))
    assert "changed after it was signed" in came.refused[0].text
    assert contents(store) == before


def test_a_customer_who_is_not_the_one_written_down_is_refused(store, sound, tmp_path):
    parts = restated(
        {**sound, "customers.jsonl": sound["customers.jsonl"].replace(b"desk", b"disk")}
    )
    came = taken(store, packed(tmp_path / "x.zip", parts))
    assert "not what was written down" in came.refused[0].text
    assert all(
        event.body.kind != "customer_described" or not event.body.customer.name
        for event in store.events()
    )


def test_a_text_that_is_not_the_one_written_down_is_refused(store, sound, tmp_path):
    told = sound["customers.jsonl"].replace(b"mobile library van", b"mobile library bus")
    assert told != sound["customers.jsonl"]
    parts = restated({**sound, "customers.jsonl": told})
    came = taken(store, packed(tmp_path / "x.zip", parts))
    assert "not what was written down" in came.refused[0].text
    [row] = store.find_vehicles()
    assert row.description == LEFT_OUT


def test_a_customers_name_inside_an_event_is_refused(store, sound, tmp_path):
    lines = sound["events.jsonl"].splitlines()
    event = json.loads(lines[1]) | {"event_id": new_id()}
    event["body"] = {"kind": "customer_described", "customer": {"name": "X", "contact": ""}}
    for name in SIGNED:
        del event[name]
    data = b"\n".join([*lines, json.dumps(event).encode(), b""])
    came = taken(store, packed(tmp_path / "x.zip", restated({**sound, "events.jsonl": data})))
    assert came.count_refused == 1
    assert event["event_id"] not in {one.event_id for one in store.events()}


@pytest.mark.parametrize("date", ["2999-01-01T00:00:00.000000Z", "9999-12-31T23:59:59-14:00"])
def test_an_event_from_the_future_waits_and_all_else_is_taken_in(store, sound, tmp_path, date):
    lines = sound["events.jsonl"].splitlines()
    event = json.loads(lines[1]) | {"at": date, "event_id": new_id()}
    for name in SIGNED:
        del event[name]
    data = b"\n".join([json.dumps(event).encode(), *lines, b""])
    path = packed(tmp_path / "x.zip", restated({**sound, "events.jsonl": data}))
    came = taken(store, path)
    assert came.events == len(lines)
    if came.held:
        assert came.held == {"date": 1}
        assert came.needs_asking == ("date",)
        assert taken(store, path, ahead=True).events == 1
    else:  # no such date in UTC
        assert came.count_refused == 1


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"version": 3}, "Update this app"),
        ({"version": 0}, "Export it again"),
        ({"version": "1.5"}, "version"),
        ({"kind": "holiday"}, "kind"),
        ({"parts": []}, "not those that manifest.json names"),
        ({"surprise": 1}, "surprise"),
    ],
)
def test_a_manifest_of_another_kind_or_version_is_refused(store, sound, tmp_path, change, why):
    refused(store, packed(tmp_path / "x.zip", restated(sound, **change)), why)


@pytest.mark.parametrize(
    "manifest", [b"", b"[]", b"null", b"{", b"[" * 100_000, b"\xff", b'{"version": 1}']
)
def test_a_manifest_that_is_none_is_refused(store, sound, tmp_path, manifest):
    refused(
        store, packed(tmp_path / "x.zip", {**sound, "manifest.json": manifest}), "manifest.json"
    )


def test_a_zip_without_a_manifest_is_refused(store, tmp_path):
    refused(store, packed(tmp_path / "x.zip", {}), "holds no manifest.json")


def test_a_manifest_beyond_all_measure_is_refused(store, sound, tmp_path, monkeypatch):
    monkeypatch.setattr(reader, "MANIFEST_LINE", 1)
    monkeypatch.setattr(reader, "LARGEST_MANIFEST", 100)
    refused(store, packed(tmp_path / "x.zip", sound), "far too large")


def test_what_is_no_zip_or_cut_short_is_refused(store, sound, tmp_path):
    path = packed(tmp_path / "x.zip", sound)
    whole = path.read_bytes()
    for data in (b"", b"PK", b"holiday pictures" * 100, whole[: len(whole) // 2], whole[:-10]):
        path.write_bytes(data)
        refused(store, path, "damaged or no bundle")
    refused(store, tmp_path / "absent.zip", "cannot be read")
    refused(store, tmp_path, "cannot be read .*directory")


def test_a_part_that_stands_twice_or_is_packed_otherwise_is_refused(store, sound, tmp_path):
    path = packed(tmp_path / "x.zip", sound)
    with pytest.warns(UserWarning, match="Duplicate"), ZipFile(path, "a") as archive:
        archive.writestr("events.jsonl", b"")
    refused(store, path, "stands twice")
    refused(store, packed(tmp_path / "y.zip", sound, ZIP_BZIP2), "packed in a way")


def test_an_encrypted_part_is_refused(store, sound, tmp_path):
    path = packed(tmp_path / "x.zip", sound)
    data = bytearray(path.read_bytes())
    at = -1
    while (at := data.find(b"PK\x01\x02", at + 1)) >= 0:
        data[at + 8] |= 1  # the flag in the central directory
    path.write_bytes(data)
    refused(store, path, "encrypted")


def test_a_bundle_larger_than_the_storage_is_refused(store, sound, tmp_path, monkeypatch):
    usage = shutil.disk_usage(tmp_path)
    monkeypatch.setattr(reader.shutil, "disk_usage", lambda folder: usage._replace(free=10))
    refused(store, packed(tmp_path / "x.zip", sound), "Free some space")


def test_a_photo_that_no_event_names_is_not_kept(store, sound, tmp_path):
    lines = sound["events.jsonl"].splitlines()
    kept = [line for line in lines if b"photo_taken" not in line]
    parts = restated({**sound, "events.jsonl": b"\n".join([*kept, b""])})
    assert taken(store, packed(tmp_path / "x.zip", parts)).photos == 0
    assert list((store.folder / "photos").iterdir()) == []


def test_what_a_killed_import_left_is_cleared_by_the_next(store, sound, tmp_path):
    left = store.folder / "photos" / f"{importing._INCOMING}x"
    left.mkdir(parents=True)
    import_bundle(store, packed(tmp_path / "x.zip", sound))
    assert not left.exists()


@FUZZ
@given(st.data())
def test_any_flipped_or_cut_bytes_leave_the_store_as_it_was_or_are_harmless(
    store, sound, tmp_path, data
):
    path = packed(tmp_path / "fuzzed.zip", sound)
    content = bytearray(path.read_bytes())
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(content) - 1))
        content[at] = data.draw(st.integers(0, 255))
    if data.draw(st.booleans()):
        del content[data.draw(st.integers(0, len(content))) :]
    path.write_bytes(content)
    before = contents(store)
    try:
        import_bundle(store, path)
    except AppError:
        assert contents(store) == before
    else:
        # What was hit does not matter (a date in the zip): the whole bundle is there, unharmed.
        assert store.count_vehicles() == 1
        assert len(list(store.events())) == sound["events.jsonl"].count(b"\n")
        for done in store.sealed_records():
            assert done.record.vehicle.registration == "BKS 207"


json_values = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=12),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner),
    max_leaves=8,
)


@FUZZ
@given(st.data())
def test_any_json_at_any_place_of_any_line_is_taken_or_refused_whole(store, sound, tmp_path, data):
    name = data.draw(st.sampled_from(["events.jsonl", "customers.jsonl", "sealed.jsonl"]))
    lines = [json.loads(line) for line in sound[name].splitlines()]
    spot = data.draw(st.sampled_from(lines))
    while True:
        key = data.draw(
            st.sampled_from(sorted(spot) if isinstance(spot, dict) else [*range(len(spot))])
        )
        if isinstance(spot[key], dict | list) and spot[key] and data.draw(st.booleans()):
            spot = spot[key]
        else:
            break
    spot[key] = data.draw(json_values)
    text = "".join(f"{json.dumps(line)}\n" for line in lines).encode()
    path = packed(tmp_path / "fuzzed.zip", restated({**sound, name: text}))
    before = contents(store)
    try:
        import_bundle(store, path)
    except AppError:
        assert contents(store) == before
    else:
        contents(store)


@FUZZ
@given(st.binary(max_size=400))
def test_no_bytes_at_all_bring_the_import_down(store, tmp_path, data):
    path = tmp_path / "fuzzed.zip"
    path.write_bytes(data)
    with pytest.raises(BundleError):
        import_bundle(store, path)
    assert (store.folder / FILE).exists()
