"""The walk in a process of its own, to be killed: types, reports each key, and waits.

Arguments: the store's folder and the keys to type at the step that is open. Prints a line
for the place it starts at and one for each key; then it waits to be killed.
"""

import sys
import time
from pathlib import Path

from mobile.ui import toolkit

toolkit.prepare(toolkit.SMALL_PHONE, offscreen=True, own_home=True)

from mobile.demo.finger import finger_on  # noqa: E402
from mobile.ui.app import build_app  # noqa: E402
from tests.mobile.driveway import CHECKLISTS  # noqa: E402


def main(folder: str, keys: list[str]) -> None:
    app = build_app(Path(folder), CHECKLISTS)
    with finger_on(app) as finger:
        walk = app.work.walk
        panel = getattr(app.navigator.page, "panel", None)
        typed = panel.widget.text if panel else ""
        print(
            f"at {app.navigator.current} {walk.step.id if walk else '-'} '{typed}'",
            flush=True,
        )
        for key in keys:
            finger.tap(app.navigator.page.ids.next if key == "next" else key)
            print(f"did {key}", flush=True)
        time.sleep(60)


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2:])
