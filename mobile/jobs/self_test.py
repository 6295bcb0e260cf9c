"""What this phone does with the app, measured on itself: for the first hour on a new kind of phone.

Everything is put into one file to be sent back. It tells of the phone and the app alone, and of no
vehicle or customer. The store that it writes to is one of its own, beside the records'. No Kivy.
"""

import json
import os
import shutil
import statistics
import sys
import time
from collections.abc import Callable, Mapping
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import TYPE_CHECKING, Any

from logic.errors import AppError
from mobile import __version__
from mobile.jobs import phone_store

if TYPE_CHECKING:
    from logic.records.keys import Wrapping

FOLDER = "self_test"
FILE = "self-test.json"
MODULES = ("kivy", "numpy", "pydantic", "pillow", "cryptography", "fpdf2", "segno", "pyjnius")
WRITES = 50
_COUNT = "written"
_SCRATCH, _ACKNOWLEDGED = "scratch", "acknowledged"

# An invented vehicle and visit, for the time that a diagnosis takes.
_CASE: dict[str, Any] = {
    "installation": {
        "nominal_voltage_v": 12,
        "alternator": {"control": "fixed", "rated_current_a": 120},
        "charger": {
            "rated_output_current_a": 40,
            "start_voltage_v": 13.2,
            "stop_voltage_v": 12.7,
            "ignition_start_voltage_v": 12.0,
            "ignition_stop_voltage_v": 11.5,
            "ignition_signal_min_v": 8.0,
            "absorption_voltage_v": 14.4,
            "float_voltage_v": 13.5,
        },
        "house_battery": {"chemistry": "agm", "capacity_ah": 120},
        "runs": {
            run: {"length_m": length, "area_mm2": 16, "joints": 3, "fuse_a": fuse}
            for run, length, fuse in (
                ("vehicle_feed", 5.0, 60),
                ("vehicle_return", 1.5, None),
                ("house_feed", 1.0, 60),
                ("house_return", 1.0, None),
            )
        },
        "location": "tray",
    },
    "readings": [
        {"point": "start_battery_voltage", "state": "idle", "value": 14.1},
        {"point": "charger_input_voltage", "state": "idle", "value": 12.4},
        {"point": "charger_output_voltage", "state": "idle", "value": 13.3},
        {"point": "input_current", "state": "idle", "value": 24.0},
    ],
}


def measured(store_folder: Path, key_store: "Wrapping | None") -> dict[str, Any]:
    """Measure the app on this phone; takes some seconds, and runs off the drawing thread.

    Times are in milliseconds, sizes in megabytes.
    """
    folder = store_folder / FOLDER
    folder.mkdir(parents=True, exist_ok=True)
    disk = shutil.disk_usage(folder)
    return {
        "app": __version__,
        "python": sys.version.split()[0],
        "optimised": sys.flags.optimize,
        "modules": {name: _version(name) for name in MODULES},
        "memory_mb": _memory(),
        "free_mb": round(disk.free / 1e6),
        "store_ms": _writing(folder / _SCRATCH),
        "import_ms": {name: _import_time(name) for name in ("numpy", "fpdf", "segno", "PIL.Image")},
        "diagnosis_ms": _diagnosing(),
        "key_store": _sealing(key_store),
    }


def write(store_folder: Path, found: Mapping[str, Any]) -> Path:
    """Write everything that was found as the file to be sent; returns its path."""
    path = store_folder / FOLDER / FILE
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(json.dumps(found, indent=1, sort_keys=True) + "\n", encoding="utf-8")
    return path


def found_before(store_folder: Path) -> dict[str, Any]:
    """Return what was written to the file before, nothing where there is none."""
    try:
        found = json.loads((store_folder / FOLDER / FILE).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return found if isinstance(found, dict) else {}


def keep_writing(store_folder: Path, goes_on: Callable[[], bool]) -> int:
    """Write one entry after the other until the app is ended or told to stop.

    After each that the store took its number is left beside it, for :func:`after_a_kill`.
    """
    folder = store_folder / FOLDER
    (folder / _SCRATCH).mkdir(parents=True, exist_ok=True)
    number = 0
    with phone_store.open_store_file(folder / _SCRATCH) as store:
        while goes_on():
            number += 1
            store.set_setting(_COUNT, number)
            _acknowledge(folder / _ACKNOWLEDGED, number)
    return number


def after_a_kill(store_folder: Path) -> str:
    """Say whether every entry is there that the store had taken; "" where none was written."""
    folder = store_folder / FOLDER
    try:
        taken = int((folder / _ACKNOWLEDGED).read_text())
    except (OSError, ValueError):
        return ""
    with phone_store.open_store_file(folder / _SCRATCH) as store:
        kept, said = int(store.setting(_COUNT) or 0), " ".join(store.notices)
    lost = max(0, taken - kept)
    return f"{taken} entries taken, {lost} lost.{f' {said}' if said else ''}"


def in_words(found: Mapping[str, Any]) -> list[tuple[str, str]]:
    """Return what was found, as lines of two texts for the screen."""
    return [(name.replace("_", " "), _said(value)) for name, value in found.items()]


def _said(value: object) -> str:
    if isinstance(value, Mapping):
        return ", ".join(f"{name} {_said(one)}" for name, one in value.items())
    return f"{value:g}" if isinstance(value, float) else str(value)


def _version(module: str) -> str:
    try:
        return version(module)
    except PackageNotFoundError:
        return "not known"  # python-for-android packs some modules without their metadata


def _memory() -> int:
    """Return the memory that the process holds, in MB; 0 where the system does not say."""
    try:
        pages = int(Path("/proc/self/statm").read_text().split()[1])
    except (OSError, ValueError):
        return 0
    return round(pages * os.sysconf("SC_PAGE_SIZE") / 1e6)


def _writing(folder: Path) -> dict[str, float]:
    """Return how long the store takes to put an entry on the disk."""
    folder.mkdir(parents=True, exist_ok=True)
    times = []
    with phone_store.open_store_file(folder) as store:
        for number in range(WRITES):
            begun = time.perf_counter()
            store.set_setting("timed", number)
            times.append(1e3 * (time.perf_counter() - begun))
    return {"median": round(statistics.median(times), 2), "longest": round(max(times), 2)}


def _import_time(module: str) -> float:
    if module in sys.modules:
        return 0.0  # it was needed before: no first time can be had any more
    begun = time.perf_counter()
    __import__(module)
    return round(1e3 * (time.perf_counter() - begun), 1)


def _diagnosing() -> float:
    from logic.case import Case
    from logic.diagnosis.engine import diagnose

    case = Case.model_validate(_CASE)
    diagnose(case)
    begun = time.perf_counter()
    diagnose(case)
    return round(1e3 * (time.perf_counter() - begun), 1)


def _sealing(key_store: "Wrapping | None") -> str:
    if key_store is None:
        return "none here"
    secret = os.urandom(32)
    try:
        return (
            "opens what it sealed" if key_store.unwrap(key_store.wrap(secret)) == secret else "no"
        )
    except AppError as error:
        return str(error)


def _acknowledge(path: Path, number: int) -> None:
    unfinished = path.with_suffix(".unfinished")
    unfinished.write_text(str(number))
    unfinished.replace(path)
