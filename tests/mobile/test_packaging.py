"""What can be said of the phone package without an SDK: its list, its recipes, its contents."""

import json
import re
import subprocess
import sys
import tomllib
import zipfile
from configparser import ConfigParser
from importlib.metadata import distribution, requires
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from tests.paths import CHECKOUT

SPEC = CHECKOUT / "mobile" / "buildozer.spec"

# Recipes of python-for-android 2026.5.9 that the list uses, and what builds on them.
BUILT = {"python3", "kivy", "pyjnius", "numpy", "pillow", "pydantic-core", "cryptography"}
RECIPES = BUILT | {"fonttools"}
BROUGHT_BY_RECIPES = {"kivy-garden", "docutils", "pygments", "filetype", "requests"}
COMMAND_LINE_ONLY = {"pip"}
DESK_ONLY = {"pypdf", "zxing-cpp"}


def spec() -> dict[str, str]:
    parser = ConfigParser(interpolation=None)
    parser.read(SPEC)
    return dict(parser["app"])


def pins() -> dict[str, str]:
    entries = (entry.split("==") for entry in spec()["requirements"].split(","))
    return {canonicalize_name(name): version for name, version in entries}


def android_requirements(name: str) -> set[str]:
    environment = {"sys_platform": "android", "platform_system": "Android", "extra": ""}
    environment |= {"python_version": "3.14", "python_full_version": "3.14.2"}
    listed = (Requirement(line) for line in requires(name) or [])
    return {
        canonicalize_name(requirement.name)
        for requirement in listed
        if requirement.marker is None or requirement.marker.evaluate(environment)
    }


def test_phone_and_desk_run_the_same_versions():
    project = tomllib.loads((CHECKOUT / "pyproject.toml").read_text())["project"]
    desk = dict(line.split("==") for line in project["dependencies"])
    phone = pins()
    different = {
        name: (version, phone.get(canonicalize_name(name)))
        for name, version in desk.items()
        if name not in DESK_ONLY and phone.get(canonicalize_name(name), "").lstrip("v") != version
    }
    assert different == {}


@pytest.mark.parametrize("name", sorted(set(pins()) - RECIPES))
def test_everything_a_phone_module_needs_is_in_the_list(name):
    known = set(pins()) | BROUGHT_BY_RECIPES | COMMAND_LINE_ONLY
    assert android_requirements(name) <= known


@pytest.mark.parametrize("name", sorted(set(pins()) - RECIPES))
def test_what_has_no_recipe_is_pure_python(name):
    tag = re.search(r"^Tag: (.*)$", distribution(name).read_text("WHEEL") or "", re.MULTILINE)
    assert tag
    assert tag[1].endswith("-none-any")


def test_every_kind_of_file_that_the_app_reads_is_packed():
    packed = {f".{suffix}" for suffix in spec()["source.include_exts"].split(",")}
    tracked = subprocess.run(
        ["git", "ls-files", "logic", "mobile", "checklists"],
        cwd=CHECKOUT,
        capture_output=True,
        text=True,
        check=True,
    ).stdout.split()
    read_at_run_time = {
        Path(name).suffix
        for name in tracked
        if not name.endswith((".md", ".spec", "android_application_attributes.xml", "LICENSE"))
        and not name.startswith("mobile/android/")  # Gradle's, not packed
    }
    assert read_at_run_time <= packed


@pytest.mark.outside
def test_the_spec_has_no_key_that_buildozer_does_not_know():
    import buildozer

    known = (Path(buildozer.__file__).parent / "default.spec").read_text()
    keys = set(re.findall(r"^#?\s?([a-z0-9_.]+) =", known, re.MULTILINE))
    assert set(spec()) - keys == set()


def asked_of_python_for_android(script: str) -> Any:
    """Run lines in a process of its own, where ``order`` and ``recipe`` are its answers."""
    start = (
        "import json, sys\n"
        "from pythonforandroid.build import Context\n"
        "from pythonforandroid.bootstrap import Bootstrap\n"
        "from pythonforandroid.graph import get_recipe_order_and_bootstrap\n"
        "from pythonforandroid.recipe import Recipe\n"
        "ctx = Context(); ctx.local_recipes = sys.argv[1]\n"
        "names = sys.argv[2].split(',')\n"
        "boot = Bootstrap.get_bootstrap('sdl2', ctx)\n"
        "order, modules, _ = get_recipe_order_and_bootstrap(ctx, names, boot)\n"
        "recipe = lambda name: Recipe.get_recipe(name, ctx)\n"
    )
    names = ",".join(entry.split("==")[0] for entry in spec()["requirements"].split(","))
    answer = subprocess.run(
        [sys.executable, "-c", start + script, str(CHECKOUT / "mobile" / "recipes"), names],
        capture_output=True,
        text=True,
        check=True,
    )
    return json.loads(answer.stdout.splitlines()[-1])


@pytest.mark.outside
def test_recipes_exist_and_agree_with_each_other_and_the_pins():
    versions, modules = asked_of_python_for_android(
        "print(json.dumps([{n: recipe(n).version for n in order}, modules]))\n"
    )
    by_name = {canonicalize_name(name): version for name, version in versions.items()}
    assert {n: (v, by_name[n]) for n, v in pins().items() if by_name.get(n, v) != v} == {}
    assert {canonicalize_name(name) for name in modules} >= set(pins()) - RECIPES
    for name in BUILT - {"python3", "kivy", "pyjnius"}:
        assert android_requirements(name) <= set(by_name) | set(pins()) | BROUGHT_BY_RECIPES
    [needed] = [Requirement(line) for line in requires("cryptography") or [] if "cffi" in line][:1]
    assert needed.specifier.contains(by_name["cffi"])


@pytest.mark.outside
def test_what_is_written_in_rust_names_pythons_library():
    flags = asked_of_python_for_android(
        "ctx.python_recipe = recipe('python3')\n"
        "told = lambda self, arch, **_: {'RUSTFLAGS': '-Clink-args=-Lhere'}\n"
        "for name in order:\n"
        "    type(recipe(name)).__mro__[1].get_recipe_env = told\n"
        "rust = [n for n in order if hasattr(recipe(n), 'RUST_ARCH_CODES')]\n"
        "print(json.dumps({n: recipe(n).get_recipe_env(None)['RUSTFLAGS'] for n in rust}))\n"
    )
    assert set(flags) == {"pydantic-core", "cryptography"}
    # Android's loader looks a symbol up in the libraries that a module names (DT_NEEDED) alone.
    assert set(flags.values()) == {"-Clink-args=-Lhere -Clink-arg=-lpython3.14"}


def test_the_packed_app_starts_without_docstrings_and_asserts(tmp_path):
    from mobile.p4a_hook import before_apk_build

    staged = tmp_path / "app"
    staged.mkdir()
    archive = tmp_path / "tracked.zip"
    subprocess.run(
        ["git", "archive", "-o", archive, "HEAD", "logic", "mobile", "checklists"],
        cwd=CHECKOUT,
        check=True,
    )
    with zipfile.ZipFile(archive) as tracked:
        tracked.extractall(staged)
    before_apk_build(SimpleNamespace(args=SimpleNamespace(private=str(staged))))
    assert "mobile.main" in (staged / "main.py").read_text()
    run = subprocess.run(
        [sys.executable, "-OO", "-c", "import main_check"],
        cwd=staged,
        capture_output=True,
        text=True,
        check=False,
        env={"PYTHONPATH": str(_checker(tmp_path, staged)), "PATH": "/usr/bin:/bin"},
    )
    assert run.stderr == ""
    assert run.stdout.startswith(f"{staged}")


def _checker(folder: Path, staged: Path) -> Path:
    (folder / "main_check.py").write_text(
        "import sys\n"
        f"sys.path.insert(0, {str(staged)!r})\n"
        "from pathlib import Path\n"
        "import logic, mobile.main\n"
        "from logic.checklist.form import load\n"
        "load(Path(mobile.main.__file__).parents[1] / 'checklists')\n"
        "print(mobile.main.__file__)\n"
    )
    return folder
