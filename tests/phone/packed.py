"""Run what is packed for the phone on the phone's Python: no sources, asserts or docstrings.

    python -m tests.phone.packed ROOT [--tests] [--compiler ROOT]

ROOT is a folder with a Debian that has the phone's Python and Kivy, made as root by

    mmdebstrap --variant=minbase --include=python3,python3-kivy,libgl1,libegl1,libgl1-mesa-dri \\
        --aptopt='Acquire::Check-Valid-Until "false"' sid ROOT

(some 300 MB to download, two minutes). With ``--architectures=arm64``, and Debian's
``qemu-user-static``, ``binfmt-support`` and ``arch-test`` installed here (and binfmt_misc mounted,
which a container has not), it is the phone's own processor too: set ``GALLIUM_DRIVER=llvmpipe``,
allow ten minutes for making it and an hour or more for the tour, and let a ROOT of this machine's
own processor compile the app (``--compiler``), for emulated each file takes seconds and byte code
is the same. Needs root, for it runs inside ROOT.

python-for-android's own script packs the app (``tests/phone/staging.py``), compiled by ROOT's
Python with -OO; the modules of ``mobile/buildozer.spec`` are the pinned releases' wheels for it.
Then the demo's tour is played on the packed files, and with ``--tests`` the tests of ``logic`` run
against them. It proves no library that is built for Android: those wheels do not exist.
"""

import os
import platform
import shutil
import subprocess
import sys
import tarfile
import tempfile
from argparse import ArgumentParser
from collections.abc import Iterable
from configparser import ConfigParser
from pathlib import Path

from tests.paths import CHECKOUT
from tests.phone import staging

# Debian's own here; python-for-android's on the phone.
OF_THE_SYSTEM = {"python3", "kivy", "pyjnius"}
# What tests of logic need beside the app's own modules, all pure.
FOR_TESTS = ("pytest", "pytest-timeout", "hypothesis", "jsonschema", "pypdf", "uncertainties")
# Tests that need what is not there: a simulator, a compiled library, a file of the checkout.
LEFT_OUT = ("*spice*", "*outside*", "test_label_page.py", "test_label.py", "desk", "*archive*")

# The same of single tests: they read our sources, docstrings or pages, or run another's program.
READ_SOURCES = (
    "schemas_on_disk",
    "a_new_fault_is_one_entry",
    "two_dozen_of_our_files",
    "where_a_point_stands",
    "no_migration_rebuilds",
    "page_on_the_tables",
    "pages_example_runs",
    "sqlites_own_recover",
    "point_that_is_only_declared",
)


def run(*command: object, **options: object) -> str:
    """Run a command and return what it says; end with its words where it fails."""
    done = subprocess.run(
        [str(one) for one in command], capture_output=True, text=True, check=False, **options
    )
    if done.returncode:
        sys.exit(f"{command[0]} failed:\n{done.stdout[-6000:]}{done.stderr[-6000:]}")
    return done.stdout


def version_of(root: Path) -> str:
    """Return ROOT's Python, as 3.14."""
    [found] = {path.name for path in (root / "usr" / "bin").glob("python3.1?")}
    return found.removeprefix("python")


def pins() -> list[str]:
    """Return the modules of the spec that pip can bring, each with its release."""
    spec = ConfigParser(interpolation=None)
    spec.read(CHECKOUT / "mobile" / "buildozer.spec")
    listed = (entry.split("==") for entry in spec["app"]["requirements"].split(","))
    named = [
        f"{name}=={release.lstrip('v')}" for name, release in listed if name not in OF_THE_SYSTEM
    ]
    return [*named, "cffi==2.0.0"]  # which cryptography's recipe brings


def lay_modules(root: Path, wanted: Iterable[str], target: str, *, closure: bool) -> None:
    """Unpack wheels for ROOT's Python and processor into a folder of ROOT."""
    machine = "aarch64" if (root / "lib" / "ld-linux-aarch64.so.1").exists() else "x86_64"
    platforms = [f"manylinux_2_{minor}_{machine}" for minor in (17, 27, 28, 34)]
    platforms.append(f"manylinux2014_{machine}")
    command = [sys.executable, "-m", "pip", "install", "-q", "--target", root / target]
    command += ["--python-version", version_of(root), "--only-binary", ":all:", "--no-compile"]
    command += [part for name in platforms for part in ("--platform", name)]
    run(*command, *(() if closure else ("--no-deps",)), *wanted)


def python_of(root: Path, folder: Path) -> Path:
    """Write a command that runs ROOT's Python on this machine's files, to compile them."""
    command = folder / "python"
    if platform.machine() == "x86_64" and (root / "lib64/ld-linux-x86-64.so.2").exists():
        loader, kind = root / "lib64/ld-linux-x86-64.so.2", "x86_64"
    else:
        loader, kind = root / "lib/ld-linux-aarch64.so.1", "aarch64"
    libraries = f"{root}/usr/lib/{kind}-linux-gnu"
    command.write_text(
        f"#!/bin/sh\nPYTHONHOME={root}/usr exec {loader} --library-path {libraries} "
        f'{root}/usr/bin/python{version_of(root)} "$@"\n'
    )
    command.chmod(0o755)
    return command


def lay_app(root: Path, compiler: Path) -> int:
    """Pack the app and unpack it in ROOT as the phone does; return how many files it has."""
    app = root / "app"
    shutil.rmtree(app, ignore_errors=True)
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        compiling = python_of(compiler, folder)
        laid = run(sys.executable, staging.__file__, folder / "staged", compiling).splitlines()[-1]
        with tarfile.open(Path(laid) / "src" / "main" / "assets" / "private.tar") as packed:
            packed.extractall(app, filter="data")
        shutil.copytree(CHECKOUT / "mobile" / "demo", app / "mobile" / "demo")
        run(compiling, "-OO", "-m", "compileall", "-q", "-b", app / "mobile" / "demo")
    for source in app.rglob("*.py"):
        source.unlink()
    return sum(1 for path in app.rglob("*") if path.is_file())


def inside(root: Path, *command: str, modules: str) -> "subprocess.CompletedProcess[str]":
    """Run a command inside ROOT, as the phone's start code sets Python up."""
    environment = {"PATH": "/usr/bin", "HOME": "/root", "LANG": "C.UTF-8"}
    environment |= {"PYTHONPATH": modules, "PYTHONOPTIMIZE": "2", "PYTHONDONTWRITEBYTECODE": "1"}
    environment |= {"HYPOTHESIS_PROFILE": os.environ.get("HYPOTHESIS_PROFILE", "")}
    environment |= {"GALLIUM_DRIVER": os.environ.get("GALLIUM_DRIVER", "")}
    return subprocess.run(
        ["chroot", str(root), "/usr/bin/env", "-i"]
        + [f"{name}={value}" for name, value in environment.items() if value]
        + list(command),
        capture_output=True,
        text=True,
        check=False,
    )


def play_tour(root: Path) -> str:
    """Play the tour on the packed files; return what it says."""
    shutil.rmtree(root / "tour", ignore_errors=True)
    start = "import sys; sys.argv = ['voltwalk', '--demo', '--tour', '/tour']; "
    start += "from mobile.main import main; code = main(); print(sys.flags.optimize, sys.version); "
    start += "sys.exit(code)"
    done = inside(root, "python3", "-OO", "-c", start, modules="/app:/modules")
    if done.returncode:
        sys.exit(f"The tour failed:\n{done.stdout[-3000:]}{done.stderr[-6000:]}")
    return done.stdout.strip()


def run_tests(root: Path) -> str:
    """Run the tests of logic against the packed files; return pytest's last line."""
    lay_modules(root, FOR_TESTS, "for_tests", closure=True)
    shutil.rmtree(root / "checkout", ignore_errors=True)
    (root / "checkout").mkdir()
    for name in ("tests", "checklists", "pyproject.toml", "README.md"):
        source = CHECKOUT / name
        copy = shutil.copytree if source.is_dir() else shutil.copyfile
        copy(source, root / "checkout" / name)
    left_out = " ".join(f"--ignore-glob='*/{pattern}'" for pattern in LEFT_OUT)
    start = "cd /checkout && exec python3 -OO -m pytest tests/logic -p no:cacheprovider "
    read = " or ".join(READ_SOURCES)
    start += f"-o pythonpath=/checkout -o addopts=--import-mode=importlib {left_out} -W ignore "
    start += f"-q -k 'not ({read})'"
    done = inside(root, "/bin/sh", "-c", start, modules="/app:/modules:/for_tests:/checkout")
    (root / "tests.txt").write_text(done.stdout + done.stderr)
    return done.stdout.strip().splitlines()[-1]


def main(root: Path, compiler: Path, with_tests: bool) -> None:
    """Do all of it and say what came out."""
    if version_of(compiler) != version_of(root):
        sys.exit("Byte code is of one Python: both must have the same.")
    shutil.rmtree(root / "modules", ignore_errors=True)
    lay_modules(root, pins(), "modules", closure=False)
    print(f"{lay_app(root, compiler)} files packed", flush=True)
    print(play_tour(root), flush=True)
    if with_tests:
        print(run_tests(root))


if __name__ == "__main__":
    parser = ArgumentParser()
    parser.add_argument("root", type=Path)
    parser.add_argument("--tests", action="store_true")
    parser.add_argument("--compiler", type=Path)
    asked = parser.parse_args()
    main(asked.root.resolve(), (asked.compiler or asked.root).resolve(), asked.tests)
