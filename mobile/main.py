"""The command ``voltwalk``, and the phone's entry."""

import gc
import os
import sys
from argparse import ArgumentParser, Namespace
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from mobile.ui.app import VoltwalkApp

CHECKLISTS = Path(__file__).resolve().parent.parent / "checklists"


def main(arguments: list[str] | None = None) -> int:
    """Open the app; returns the exit code."""
    options = _parsed(sys.argv[1:] if arguments is None else arguments)
    from mobile.ui import toolkit

    if options.demo or options.tour:
        from mobile.demo.opening import run

        return run(options.store, options.tour, CHECKLISTS)
    toolkit.prepare(offscreen=not toolkit.has_display())
    app_on(options.store or _own_folder()).run()
    return 0


def app_on(store_folder: Path) -> "VoltwalkApp":
    """Return the app on a store's folder, not yet running; Kivy's surroundings must stand.

    The garbage collector rests from here until the app has started: nearly all that is loaded and
    built stays, and looking through it again and again takes a tenth of what we add to Kivy's
    start.
    """
    gc.disable()
    from mobile.jobs import phone_store
    from mobile.ui import device_key
    from mobile.ui.app import build_app

    phone_store.use_key_store(device_key.of_this_phone())
    return build_app(store_folder, CHECKLISTS)


def _parsed(arguments: list[str]) -> Namespace:
    parser = ArgumentParser(prog="voltwalk", description="Commission and sign off a DC-DC charger.")
    parser.add_argument("--demo", action="store_true", help="open on invented vehicles")
    parser.add_argument("--store", type=Path, help="folder of the records")
    parser.add_argument("--tour", type=Path, help="play a whole job, leave its pictures here")
    return parser.parse_args(arguments)


def _own_folder() -> Path:
    from mobile.ui import toolkit

    if toolkit.on_android():
        return Path(os.environ["ANDROID_PRIVATE"]) / "store"
    return toolkit.user_folder()


if __name__ == "__main__":
    sys.exit(main())
