"""The phone package as far as buildozer and python-for-android take it without an SDK.

``python staging.py FOLDER [PYTHON]`` copies the app's files as buildozer does, asks buildozer for
the command that it would give python-for-android, calls our hooks, and has python-for-android's own
``build.py`` pack, render and lay out everything that Gradle would then build. With PYTHON its
byte code is of that Python, without asserts and docstrings; without, sources are packed.

Run in a process of its own: both look at the folder that they are started in.
"""

import importlib.util
import json
import os
import shutil
import sys
from pathlib import Path
from types import SimpleNamespace
from typing import Any

MOBILE = Path(__file__).resolve().parents[2] / "mobile"

# What buildozer tells python-for-android itself, and not the script that packs.
_OF_THE_TOOLCHAIN = {"--bootstrap": 1, "--dist_name": 1, "--local-recipes": 1, "--copy-libs": 0}
_OF_THE_TOOLCHAIN |= {"--arch": 1, "--android_api": 1, "--ndk-api": 1, "--hook": 1}


def _loaded(name: str, path: Path) -> Any:
    spec = importlib.util.spec_from_file_location(name, path)
    if spec is None or spec.loader is None:
        raise FileNotFoundError(path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def command_and_files(folder: Path) -> tuple[list[str], Path]:
    """Copy the app's files as buildozer does; return the command it gives, and where they lie."""
    from buildozer import Buildozer
    from buildozer.targets.android import TargetAndroid

    os.chdir(MOBILE)
    built = Buildozer("buildozer.spec")
    built.config.set("buildozer", "build_dir", str(folder / "buildozer"))
    built.set_target("android")
    target: TargetAndroid = built.target
    given: list[list[str]] = []
    target._p4a = lambda command, **_: given.append(list(command))
    target.artifact_format = "apk"
    target.build_mode = "release"
    Path(target.get_dist_dir("voltwalk")).mkdir(parents=True)
    Path(built.app_dir).mkdir(parents=True, exist_ok=True)
    built._copy_application_sources()
    try:
        target.build_package()
    except (OSError, AttributeError, TypeError):
        if not given:  # after the command it looks for what an SDK would have built
            raise
    return given[0], Path(built.app_dir)


def for_the_packer(command: list[str]) -> list[str]:
    """Return what of a command python-for-android hands on to its script that packs."""
    left, words = [], iter(command[1:])
    for word in words:
        option = word.partition("=")[0]
        if option in _OF_THE_TOOLCHAIN:
            for _ in range(0 if "=" in word else _OF_THE_TOOLCHAIN[option]):
                next(words)
        else:
            left.append("--resource" if word == "--add-resource" else word)
    return left


def distribution(folder: Path, python: str) -> Path:
    """Lay python-for-android's own files as it lays them before it packs, with no library built."""
    from pythonforandroid.bootstrap import Bootstrap, copy_files
    from pythonforandroid.build import Context

    bootstrap = Bootstrap.get_bootstrap("sdl2", Context())
    laid = folder / "distribution"
    for part in bootstrap.get_bootstrap_dirs():
        copy_files(str(Path(part) / "build"), str(laid), symlink=False)
    told = {"hostpython": python, "bootstrap": "sdl2", "archs": ["arm64-v8a"], "ndk_api": 29}
    (laid / "dist_info.json").write_text(json.dumps(told))
    (laid / "project.properties").write_text("target=android-36")
    (folder / "sdk" / "build-tools" / "36.0.0").mkdir(parents=True)
    (laid / "local.properties").write_text(f"sdk.dir={folder / 'sdk'}")
    for name in ("libs/arm64-v8a", "_python_bundle__arm64-v8a"):
        (laid / name).mkdir(parents=True)
    return laid


def stage(folder: Path, python: str = "") -> Path:
    """Return the folder that Gradle would build: manifest, resources, the packed app."""
    command, private = command_and_files(folder)
    laid = distribution(folder, python or sys.executable)
    hook = _loaded("hook", MOBILE / "p4a_hook.py")
    toolchain = SimpleNamespace(args=SimpleNamespace(private=str(private)))
    wanted = for_the_packer(command)
    if not python:
        wanted.append("--no-byte-compile-python")
    os.chdir(laid)
    hook.before_apk_build(toolchain)
    build = _loaded("build", laid / "build.py")
    build.parse_args_and_make_package(wanted)
    hook.after_apk_build(toolchain)
    return laid


if __name__ == "__main__":
    target_folder = Path(sys.argv[1]).resolve()
    shutil.rmtree(target_folder, ignore_errors=True)
    target_folder.mkdir(parents=True)
    print(stage(target_folder, *sys.argv[2:]))
