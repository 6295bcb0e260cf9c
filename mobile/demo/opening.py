"""Opens the app on the demo's vehicles, or plays the tour through them."""

import tempfile
from pathlib import Path

from mobile.demo.stories import fill


def run(store_folder: Path | None, tour_folder: Path | None, checklists: Path) -> int:
    """Open the app on the demo, or play the tour where that is asked for or nothing can show."""
    from mobile.ui import toolkit

    folder = store_folder or Path(tempfile.mkdtemp(prefix="voltwalk-demo-"))
    fill(folder, checklists)
    if tour_folder is None and not toolkit.has_display():
        tour_folder = Path(tempfile.mkdtemp(prefix="voltwalk-tour-"))
        print("No display here: playing the tour instead.", flush=True)
    toolkit.prepare(offscreen=not toolkit.has_display(), own_home=tour_folder is not None)
    if tour_folder is not None:
        from mobile.demo.tour import play

        return play(folder, checklists, tour_folder)
    from mobile.ui.app import build_app

    build_app(folder, checklists).run()
    return 0
