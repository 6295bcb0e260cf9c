"""Two phones of the workshop: the same job on both, and files carried from one to the other."""

import shutil
from pathlib import Path
from typing import Any

from logic.checklist import form
from logic.checklist.answers import Answer
from logic.records.bundle.exporting import export_bundle
from logic.records.bundle.importing import import_bundle
from logic.records.keys import KEY_FILE
from logic.records.store.store import Store
from mobile.jobs.walk import Walk
from mobile.jobs.workplace import system_clock
from tests.logic.records import scenes
from tests.mobile.driveway import open_job
from tests.paths import CHECKLISTS

STEP = "rest_start_battery_voltage"


def begun_on_one(folder: Path) -> tuple[Path, Path, str]:
    """Return two stores that know the same vehicle with an open job, and the job's id."""
    one, other = folder / "one", folder / "other"
    job_id = open_job(one)
    carry(one, other, folder / "begun.voltwalk")
    return one, other, job_id


def befriend(one: Path, other: Path) -> None:
    """Have two phones take each other's keys for the workshop's."""
    with Store.open(one) as here, Store.open(other) as there:
        scenes.befriend(here, there)


def carry(one: Path, other: Path, by: Path) -> Any:
    """Take everything of one store to another that knows its key, by a file."""
    befriend(one, other)
    with Store.open(one) as store:
        export_bundle(store, by)
    with Store.open(other) as store:
        return import_bundle(store, by)


def answer(folder: Path, job_id: str, answer: Answer, step_id: str = STEP) -> None:
    """Answer a step as the walk does, on the phone with this store."""
    with Store.open(folder) as store:
        walk = Walk(store, form.load(CHECKLISTS), system_clock, job_id, step_id)
        walk.answer(step_id, answer)


def file_of(folder: Path, path: Path) -> Path:
    """Export all of a store into a file."""
    with Store.open(folder) as store:
        export_bundle(store, path)
    return path


def only_file(folder: Path) -> Path:
    """Return the one file that lies ready in a store's folder."""
    [path] = (folder / "bundles").iterdir()
    return path


def copy_of(folder: Path, name: str) -> Path:
    """Copy a store, as another phone's that has a key of its own and knows this one's."""
    copy = Path(shutil.copytree(folder, folder.parent / name))
    (copy / KEY_FILE).unlink(missing_ok=True)
    befriend(folder, copy)
    return copy
