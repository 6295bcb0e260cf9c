"""What the documents promise is there."""

import re
import stat
import subprocess
from pathlib import Path

import pytest

from tests.paths import CHECKOUT

README = (CHECKOUT / "README.md").read_text()
DEVELOPERS = (CHECKOUT / "DEVELOPERS.md").read_text()


def test_readme_gives_the_two_lines_and_ci_runs_the_second():
    lines = README.splitlines()
    assert "python3 mobile/demo/provision.py demo" in lines
    assert "python3 mobile/demo/provision.py test" in lines
    script = CHECKOUT / ".ci" / "run"
    assert script.stat().st_mode & stat.S_IXUSR
    assert "provision\\.py test$' README.md" in script.read_text()


@pytest.mark.parametrize("document", ["README.md", "DEVELOPERS.md"])
def test_every_file_that_a_document_points_at_is_there(document):
    text = (CHECKOUT / document).read_text()
    targets = re.findall(r"\]\(([^)#:]+)\)", text) + re.findall(r'src="([^":]+)"', text)
    assert [target for target in targets if not (CHECKOUT / target).exists()] == []


def test_every_room_is_in_the_contributors_list():
    listed = subprocess.run(
        ["git", "ls-files", "logic", "mobile"],
        cwd=CHECKOUT, capture_output=True, text=True, check=True,
    )  # fmt: skip
    folders = {
        str(Path(line).parent) for line in listed.stdout.splitlines() if line.endswith(".py")
    }
    unlisted = {name for name in folders if f"`{name}/`" not in DEVELOPERS}
    assert {name for name in unlisted if not name.startswith("mobile/recipes/")} == set()


def test_every_path_named_by_the_contributors_guide_exists():
    names = re.findall(r"`((?:logic|mobile|checklists|tests)/[\w./]*)`", DEVELOPERS)
    assert names
    assert [name for name in names if not (CHECKOUT / name).exists()] == []


def test_every_module_of_the_app_is_in_the_contributors_guide():
    named = set(re.findall(r"`(\w+)`", DEVELOPERS))
    modules = {path.stem for path in (CHECKOUT / "mobile").glob("*.py")}
    assert modules - named - {"__init__"} == set()
