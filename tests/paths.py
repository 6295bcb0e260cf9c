"""Where things lie in the checkout; no test counts the folders above it for itself."""

from pathlib import Path

CHECKOUT = Path(__file__).resolve().parents[1]

CHECKLISTS = CHECKOUT / "checklists"
BROKEN = CHECKOUT / "tests" / "broken"
GOLDEN = CHECKOUT / "tests" / "golden"
RELEASES = CHECKOUT / "tests" / "releases"
