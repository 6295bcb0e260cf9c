"""``backup`` and ``restore``: the store as a whole."""

import shutil
from datetime import UTC, datetime
from pathlib import Path

import click

from logic.desk.store_access import every_vehicle, note_written, opened
from logic.desk.terminal import plain, progress_bar, progress_through, say
from logic.errors import RecordError
from logic.records.store import backup as copies
from logic.records.store.soundness import read_whole
from logic.records.store.store import FILE, PHOTOS

_MOST_TOLD = 20
_BACKUP = click.Path(exists=True, dir_okay=False, path_type=Path)


@click.command(
    help="""Copy the store, checked page by page, and its photos into a folder.

    Photos that are there already are not copied again, so a USB stick fills slowly.

    \b
    Examples:
      voltwalk-office backup /media/stick/voltwalk
    """
)
@click.argument("target", metavar="FOLDER", type=click.Path(file_okay=False, path_type=Path))
@click.pass_obj
def backup(folder: Path, target: Path) -> None:
    target.mkdir(parents=True, exist_ok=True)
    copy = target / datetime.now(UTC).strftime("voltwalk-%Y%m%d-%H%M%S.db")
    with opened(folder) as store:  # whatever is wrong with it is said before it is copied
        note_written(store, "backup", copy)
    with progress_bar("Copying records") as progress:
        copies.copy(folder / FILE, copy, progress)
    new = _copy_photos(folder / PHOTOS, target / PHOTOS)
    say(f"{copy}: copied and checked; {new} new photos.")


def _copy_photos(source: Path, target: Path) -> int:
    """Copy the photos that are not there yet; each takes its name only when it is whole."""
    if not source.is_dir() or source.resolve() == target.resolve():
        return 0
    target.mkdir(parents=True, exist_ok=True)
    missing = [file for file in sorted(source.iterdir()) if not (target / file.name).exists()]
    with progress_through(missing, "Copying photos") as bar:
        for file in bar:
            part = target / f"{file.name}.unfinished"
            shutil.copyfile(file, part)
            part.replace(target / file.name)
    return len(missing)


@click.command(
    help="""Replace the store with a backup; the store that was there is kept beside it.

    Without BACKUP, list the copies that the store took by itself.

    \b
    Examples:
      voltwalk-office restore
      voltwalk-office restore /media/stick/voltwalk/voltwalk-20261124-170000.db
    """
)
@click.argument("backup", required=False, type=_BACKUP)
@click.option("--yes", is_flag=True, help="Do not ask.")
@click.pass_obj
def restore(folder: Path, backup: Path | None, yes: bool) -> None:
    if backup is None:
        _list_backups(folder)
        return
    store = folder / FILE
    if store.exists() and not yes:
        click.confirm(plain(f"Replace the store in {folder} with {backup}?"), abort=True, err=True)
    erased, believed = _known_before(folder)
    kept = copies.restore(backup, store)
    photos = _copy_photos(backup.parent / PHOTOS, folder / PHOTOS)
    with opened(folder) as restored:
        vehicles = restored.count_vehicles()
        back = [row for row in every_vehicle(restored) if row.vehicle_id in erased and row.customer]
        keys = [key for key in restored.workshop_keys().values() if key.is_trusted]
    say(f"Restored: {vehicles} vehicles, {photos} photos that were missing.")
    if kept:
        say(f"The store that was there is kept as {kept}.")
    for row in back:
        say(
            f"{row.registration}: the customer's data was erased before and is back with this "
            f"backup. Erase it again: voltwalk-office erase {row.vehicle_id}",
            err=True,
        )
    for key in keys:
        if key.public not in believed:
            say(
                f"With this backup a key is believed that was not before: {key.shown} "
                f"{key.name}. Compare it with its device. If it is not the workshop's: "
                f"voltwalk-office keys --withdraw {key.key_id}",
                err=True,
            )
    _tell_what_is_unsound(store)


def _tell_what_is_unsound(store: Path) -> None:
    """Read a restored store through: whoever had the backup may have changed it."""
    found = list(read_whole(store))
    for one in found[:_MOST_TOLD]:
        say(one.words, err=True)
    if len(found) > _MOST_TOLD:
        say(f"And {len(found) - _MOST_TOLD} more of that kind.", err=True)


def _known_before(folder: Path) -> tuple[frozenset[str], frozenset[str]]:
    """Return what the store that is to be replaced knows: whose customers are erased, and keys.

    The keys are those that it believes.
    """
    if not (folder / FILE).exists():
        return frozenset(), frozenset()
    try:
        with opened(folder) as store:
            keys = store.workshop_keys().values()
            return store.erased_vehicles(), frozenset(key.public for key in keys if key.is_trusted)
    except RecordError:
        return frozenset(), frozenset()  # too ill to be asked, which may be why it is replaced


def _list_backups(folder: Path) -> None:
    found = copies.backups(folder)
    if not found:
        raise RecordError(
            f"The store in {folder} has taken no copies of itself yet. Name a backup's file."
        )
    for path in found:
        taken = copies.taken_at(path).astimezone()
        say(f"{taken:%Y-%m-%d %H:%M}  {path.stat().st_size / 1e6:8.1f} MB  {path}")
