"""The command ``voltwalk``, and the phone's entry."""

import os
import sys
from argparse import ArgumentParser, Namespace
from pathlib import Path

CHECKLISTS = Path(__file__).resolve().parent.parent / "checklists"


def main(arguments: list[str] | None = None) -> int:
    """Open the app; returns the exit code."""
    options = _parsed(sys.argv[1:] if arguments is None else arguments)
    from mobile.ui import toolkit

    if options.demo or options.tour:
        from mobile.demo.opening import run

        return run(options.store, options.tour, CHECKLISTS)
    toolkit.prepare(offscreen=not toolkit.has_display())
    from mobile.jobs import phone_store
    from mobile.ui import device_key
    from mobile.ui.app import build_app

    phone_store.use_key_store(device_key.of_this_phone())
    build_app(options.store or _own_folder(), CHECKLISTS).run()
    return 0


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
