"""Set up everything from nothing, then open the demo or run every check.

    python3 mobile/demo/provision.py demo      set up, then open the app on the demo vehicles
    python3 mobile/demo/provision.py test      set up, then run every check
    python3 mobile/demo/provision.py only      set up and stop

Needs nothing but Python 3.11 to 3.13 and a Debian-like machine. System libraries that are
missing are named and installed where that is allowed; Python packages go into ``.venv``.
"""

import ctypes.util
import importlib.util
import os
import shutil
import subprocess
import sys
from pathlib import Path

CHECKOUT = Path(__file__).resolve().parents[2]
ENVIRONMENT = CHECKOUT / ".venv"
PYTHON = ENVIRONMENT / "bin" / "python"

LIBRARIES = {"GL": "libgl1", "EGL": "libegl1"}
TEST_PROGRAMS = {
    "git": "git",
    "ngspice": "ngspice",
    "fossil": "fossil",
    "openssl": "openssl",
    "msgfmt": "gettext",
    "javac": "default-jdk-headless",
}
TEST_FILES = {"/usr/share/java/core.jar": "libzxing-core-java"}

CHECKS = (
    ("lint", ("ruff", "check", ".")),
    ("format", ("ruff", "format", "--check", ".")),
    ("types", ("mypy",)),
    ("imports", ("lint-imports",)),
)
# A test is handed from a busy process to an idle one; a module's tests mostly stay together.
TESTS = ("pytest", "-n", "2", "--dist", "worksteal")


def missing_packages(purpose: str) -> list[str]:
    """Name the Debian packages that are not there yet and are needed for ``purpose``."""
    missing = [
        package for library, package in LIBRARIES.items() if not ctypes.util.find_library(library)
    ]
    if importlib.util.find_spec("ensurepip") is None:
        missing.append("python3-venv")
    if purpose == "test":
        missing += [deb for program, deb in TEST_PROGRAMS.items() if not shutil.which(program)]
        missing += [deb for file, deb in TEST_FILES.items() if not Path(file).exists()]
    return missing


def install_packages(packages: list[str]) -> None:
    """Install Debian packages, or say which line to run where that is not allowed."""
    print(f"Missing on this machine: {', '.join(packages)}", flush=True)
    may_ask = sys.stdin.isatty()
    if os.geteuid() == 0:
        prefix = []
    elif shutil.which("sudo") and (may_ask or _ok(["sudo", "-n", "true"])):
        prefix = ["sudo"]
    else:
        prefix = None
    if prefix is None or not shutil.which("apt-get"):
        sys.exit(f"Install them, then run this again: apt-get install {' '.join(packages)}")
    environment = ["env", "DEBIAN_FRONTEND=noninteractive"]
    _run([*prefix, *environment, "apt-get", "update", "-q"])
    _run([*prefix, *environment, "apt-get", "install", "-yq", "--no-install-recommends", *packages])


def install_python_packages(purpose: str) -> None:
    """Make ``.venv`` and install the pinned packages into it, the project itself in place."""
    if not PYTHON.exists():
        print("Making .venv", flush=True)
        _run([sys.executable, "-m", "venv", str(ENVIRONMENT)])
    wanted = f"{CHECKOUT}[test]" if purpose == "test" else str(CHECKOUT)
    print("Installing the Python packages", flush=True)
    _run([str(PYTHON), "-m", "pip", "install", "-q", "--disable-pip-version-check", "-e", wanted])


def run_checks() -> int:
    """Run every check beside the tests, tell how each ended, and return how many failed."""
    checks = [(name, command, _begun(command)) for name, command in CHECKS]
    print(f"== tests: {' '.join(TESTS)}", flush=True)
    failed = ["tests"] if subprocess.run(_here(TESTS), cwd=CHECKOUT, check=False).returncode else []
    for name, command, process in checks:
        said, _ = process.communicate()
        print(f"== {name}: {' '.join(command)}\n{said.rstrip()}", flush=True)
        if process.returncode:
            failed.append(name)
    print(f"failed: {', '.join(failed)}" if failed else "All checks passed.", flush=True)
    return len(failed)


def _begun(command: tuple[str, ...]) -> "subprocess.Popen[str]":
    return subprocess.Popen(
        _here(command),
        cwd=CHECKOUT,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )


def _here(command: tuple[str, ...]) -> list[str]:
    return [str(ENVIRONMENT / "bin" / command[0]), *command[1:]]


def _ok(command: list[str]) -> bool:
    return subprocess.run(command, capture_output=True, check=False).returncode == 0


def _run(command: list[str]) -> None:
    if code := subprocess.run(command, check=False).returncode:
        sys.exit(f"This did not work (exit code {code}): {' '.join(command)}")


def main(arguments: list[str]) -> int:
    """Set up for one of the three purposes and go on with it."""
    purpose = arguments[0] if arguments else ""
    if purpose not in ("demo", "test", "only"):
        print(__doc__)
        return 2
    if not (3, 11) <= sys.version_info[:2] <= (3, 13):
        sys.exit(f"Python 3.11, 3.12 or 3.13 is needed; this is {sys.version.split()[0]}.")
    if packages := missing_packages(purpose):
        install_packages(packages)
    install_python_packages(purpose)
    if purpose == "demo":
        voltwalk = ENVIRONMENT / "bin" / "voltwalk"
        return subprocess.run([str(voltwalk), "--demo", *arguments[1:]], check=False).returncode
    return 1 if purpose == "test" and run_checks() else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
