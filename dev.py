#!/usr/bin/env python3
"""Set up, run, test or measure closedcup with nothing but Python's own library.

    python3 dev.py setup    make the environment in .venv
    python3 dev.py run      make the demo laboratory and run the main job on it
    python3 dev.py test     all checks: ruff, mypy, import contract, pytest
    python3 dev.py bench    timings, as ratios within one run

A stamp in .venv says what was installed for which pyproject.toml; without a matching stamp the
environment is made again, so one that was interrupted repairs itself.
"""

import hashlib
import importlib.util
import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent
VENV = ROOT / ".venv"
SCRIPTS = VENV / ("Scripts" if os.name == "nt" else "bin")
PYTHON = SCRIPTS / ("python.exe" if os.name == "nt" else "python")
STAMP = VENV / "closedcup-stamp"
DEMO = ROOT / "demo-laboratory"
OLDEST_PYTHON = (3, 11)
# What only tests need from the system: a browser, a database server and a tracer of system calls.
# Debian's names, each with the commands (or the places) that show that it is there.
SYSTEM_PACKAGES = {
    "chromium": ("chromium", "chromium-browser"),
    "postgresql": ("initdb", "/usr/lib/postgresql/*/bin/initdb"),
    "strace": ("strace",),
}


def say(text: str) -> None:
    """Print at once, so that the order with child processes holds."""
    print(text, flush=True)


def wanted_stamp(extras: str) -> str:
    """Return what the stamp must say for this project file, this Python and these extras."""
    made_of = (ROOT / "pyproject.toml").read_bytes() + sys.version.encode() + str(ROOT).encode()
    return f"{hashlib.sha256(made_of).hexdigest()} {extras}"


def is_ready(extras: str) -> bool:
    """Say whether the environment holds what is asked (the test extras include the run)."""
    return is_whole() and STAMP.read_text(encoding="utf-8").splitlines()[0] in {
        wanted_stamp(extras),
        wanted_stamp("dev"),
    }


def is_whole() -> bool:
    """Say whether an installation ended, and whether all it left is still there."""
    if not (STAMP.is_file() and PYTHON.exists()):
        return False
    _, *installed = STAMP.read_text(encoding="utf-8").splitlines()
    return set(installed) <= set(installed_names())


def package_folders() -> list[Path]:
    """Return the environment's package folder (its place differs between systems)."""
    return [*VENV.glob("lib/python3.*/site-packages"), *VENV.glob("Lib/site-packages")]


def installed_names() -> list[str]:
    """List what stands in the environment's package folder, to notice what has gone missing."""
    return sorted(entry.name for folder in package_folders() for entry in folder.iterdir())


def make_environment(extras: str) -> None:
    """Make .venv afresh when it is absent or broken, and install closedcup into it."""
    if sys.version_info < OLDEST_PYTHON:
        sys.exit(f"closedcup needs Python 3.11 or newer; this is {sys.version.split()[0]}.")
    works = is_whole() and run(PYTHON, "-m", "pip", "--version", quiet=True) == 0
    STAMP.unlink(missing_ok=True)
    if not works:
        if importlib.util.find_spec("ensurepip") is None:
            sys.exit(
                "Python's venv module is missing. Install it, then run this again:\n"
                "    sudo apt install python3-venv"
            )
        say("Making the environment in .venv …")
        shutil.rmtree(VENV, ignore_errors=True)
        if run(sys.executable, "-m", "venv", VENV) != 0:
            sys.exit(
                "The environment could not be made. On Debian this usually helps:\n"
                "    sudo apt install python3-venv"
            )
    say("Installing closedcup and what it needs (the first time takes a minute) …")
    project = f"{ROOT}[{extras}]" if extras else str(ROOT)
    options = ["--quiet", "--disable-pip-version-check"]
    if run(PYTHON, "-m", "pip", "install", *options, "--editable", project) != 0:
        sys.exit("The installation failed; its own message stands above. Run this again to retry.")
    STAMP.write_text("\n".join([wanted_stamp(extras), *installed_names()]), encoding="utf-8")


def run(*command: object, quiet: bool = False, **environment: str) -> int:
    """Run a command in the project's folder and return its exit status."""
    silent = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL} if quiet else {}
    words = [str(word) for word in command]
    try:
        done = subprocess.run(
            words, cwd=ROOT, env={**os.environ, **environment}, check=False, **silent
        )
    except OSError:
        return 127
    return done.returncode


def is_there(command: str) -> bool:
    """Say whether a command is on the path, or a file at a place given with wildcards."""
    if command.startswith("/"):
        return any(Path("/").glob(command[1:]))
    return shutil.which(command) is not None


def install_system_packages() -> None:
    """Install what only the tests need where that is allowed; else print the line to type."""
    missing = [
        package
        for package, commands in SYSTEM_PACKAGES.items()
        if not any(is_there(command) for command in commands)
    ]
    if not missing:
        return
    line = f"apt-get install --yes --no-install-recommends {' '.join(missing)}"
    is_root = hasattr(os, "geteuid") and os.geteuid() == 0
    in_container = Path("/.dockerenv").exists() or Path("/run/.containerenv").exists()
    if shutil.which("apt-get") and is_root and (os.environ.get("CI") or in_container):
        say(f"Installing for the tests: {' '.join(missing)} …")
        run("apt-get", "update", quiet=True)
        run(*line.split(), quiet=True, DEBIAN_FRONTEND="noninteractive")
    else:
        say(
            f"Some tests need {' '.join(missing)} and will be skipped. To have them:\n"
            f"    sudo {line}"
        )


def command_setup() -> int:
    """Make the environment for running."""
    say(f"Ready: {SCRIPTS / 'closedcup'}")
    return 0


def command_run() -> int:
    """Make the demo laboratory and run the main job on it."""
    DEMO.mkdir(exist_ok=True)
    url = f"sqlite:///{(DEMO / 'laboratory.sqlite').as_posix()}"
    return run(PYTHON, "-m", "closedcup", "demo", *sys.argv[2:], CLOSEDCUP_DATABASE=url)


def command_test() -> int:
    """Run all checks in the order in which they are cheapest to fail."""
    install_system_packages()
    checks = [
        ("ruff check", ["-m", "ruff", "check", "."]),
        ("ruff format", ["-m", "ruff", "format", "--check", "--quiet", "."]),
        ("mypy", ["-m", "mypy"]),
        ("import contract", [SCRIPTS / "lint-imports"]),
        ("pytest", ["-m", "pytest", *sys.argv[2:]]),
    ]
    failed = []
    for name, command in checks:
        say(f"── {name}")
        words = [PYTHON, *command] if command[0] == "-m" else command
        if run(*words) != 0:
            failed.append(name)
    say(f"Failed: {', '.join(failed)}" if failed else "All checks passed.")
    return 1 if failed else 0


def command_bench() -> int:
    """Print timings as ratios within one run, with the absolute figures beside them."""
    return run(PYTHON, "-m", "benchmarks")


COMMANDS = {
    "setup": (command_setup, ""),
    "run": (command_run, ""),
    "test": (command_test, "dev"),
    "bench": (command_bench, "dev"),
}


def main() -> int:
    """Make the environment ready, then do what was asked."""
    if len(sys.argv) < 2 or sys.argv[1] not in COMMANDS:
        say((__doc__ or "").strip())
        return 2
    command, extras = COMMANDS[sys.argv[1]]
    if not is_ready(extras):
        make_environment(extras)
    return command()


if __name__ == "__main__":
    sys.exit(main())
