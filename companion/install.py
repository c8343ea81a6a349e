"""One command from a bare machine to the running program, or to its passed tests.

    python3 -m companion.install           install what is needed, then run the program
    python3 -m companion.install --test    the same, then run every check and test
    python3 -m companion.install --only    install and stop there

Only the standard library is used, because nothing else is there yet. System libraries are taken
from Debian's packages where this may be done (as root, or with sudo that asks no password);
elsewhere the command to type is printed and the work goes on. Python packages go into ``.venv``
beside this checkout and nowhere else.
"""

from __future__ import annotations

import argparse
import hashlib
import os
import shutil
import subprocess
import sys
import venv
from pathlib import Path

CHECKOUT = Path(__file__).resolve().parent.parent
ENVIRONMENT = CHECKOUT / ".venv"
STAMP = ENVIRONMENT / "installed-for"

WINDOW_PACKAGES = (
    # what Qt needs to draw at all
    "libglib2.0-0", "libgl1", "libegl1", "libfontconfig1", "libdbus-1-3", "libxkbcommon0",
    "fonts-dejavu-core",
    # what Qt needs for a real window under X
    "libxcb-cursor0", "libxcb-icccm4", "libxcb-keysyms1", "libxcb-shape0", "libxcb-xkb1",
    "libxkbcommon-x11-0",
    # MIDI
    "libasound2",
)  # fmt: skip
TEST_PACKAGES = (
    "jackd2",  # MIDI ports without a piano: the dummy driver needs no sound device
    "xvfb",  # a screen without a screen
    "libcairo2",  # the other renderer that our engraving is compared with
)

SAMPLE_SCORE = "study_in_d_minor.musicxml"


def main() -> int:
    """Install, then run the program or the tests; return the exit status."""
    options = _options()
    if sys.version_info < (3, 11):  # noqa: UP036 - this file may well meet an older Python
        print("This program needs Python 3.11 or newer.", file=sys.stderr)
        return 1
    _install_system_packages(WINDOW_PACKAGES + (TEST_PACKAGES if options.test else ()))
    try:
        _install_python_packages(with_tests=options.test)
    except subprocess.CalledProcessError as problem:
        print(
            f"\nInstalling did not work: {' '.join(map(str, problem.cmd))} ended with status "
            f"{problem.returncode}. Is the network there? Running the command again is safe.",
            file=sys.stderr,
        )
        return 1
    if options.only:
        return 0
    return _run_tests(options.pytest) if options.test else _run_program()


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        prog="python3 -m companion.install", description=(__doc__ or "").splitlines()[0]
    )
    parser.add_argument("--test", action="store_true", help="run every check and test afterwards")
    parser.add_argument("--only", action="store_true", help="install and run nothing")
    parser.add_argument("pytest", nargs="*", help="what to pass on to pytest, with --test")
    return parser.parse_args()


def _install_system_packages(names: tuple[str, ...]) -> None:
    missing = [name for name in names if not _has_system_package(name)]
    if not missing:
        return
    command = ["apt-get", "install", "-y", "--no-install-recommends", *missing]
    if shutil.which("apt-get") is None:
        print("This is no Debian. If the window does not open, install what these packages bring:")
        print("  " + " ".join(missing))
        return
    as_root = _root_prefix()
    if as_root is None:
        print("Some system libraries are missing. To install them:")
        print("  sudo " + " ".join(command))
        return
    print("Installing system libraries:", " ".join(missing), flush=True)
    quiet = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    # A failed update is no reason to stop: the lists on the disk may be good enough.
    subprocess.run([*as_root, "apt-get", "update", "-qq"], env=quiet, check=False)
    done = subprocess.run([*as_root, *command, "-qq"], env=quiet, check=False)
    if done.returncode:
        print("Some system libraries could not be installed; the program may still run.")


def _has_system_package(name: str) -> bool:
    if shutil.which("dpkg-query") is None:
        return False
    answer = subprocess.run(
        ["dpkg-query", "-W", "-f", "${Status}", name], capture_output=True, text=True, check=False
    )
    return "install ok installed" in answer.stdout


def _root_prefix() -> list[str] | None:
    if os.geteuid() == 0:
        return []
    if shutil.which("sudo"):
        asked = subprocess.run(["sudo", "-n", "true"], capture_output=True, check=False)
        if asked.returncode == 0:
            return ["sudo", "-n"]
    return None


def _install_python_packages(*, with_tests: bool) -> None:
    wanted = _fingerprint(with_tests=with_tests)
    if STAMP.exists() and STAMP.read_text() in {wanted, _fingerprint(with_tests=True)}:
        return
    python = ENVIRONMENT / "bin" / "python"
    if not python.exists():
        print("Making a Python environment in .venv", flush=True)
        venv.create(ENVIRONMENT, with_pip=True)
    print("Installing Python packages (some 200 MB the first time)", flush=True)
    pip = [str(python), "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
    subprocess.run([*pip, "--upgrade", "pip>=25.1"], check=True)  # knows dependency groups
    groups = ["--group", "dev"] if with_tests else []
    subprocess.run([*pip, "--editable", ".", *groups], check=True, cwd=CHECKOUT)
    _compile_our_own(python)
    STAMP.write_text(wanted)


def _compile_our_own(python: Path) -> None:
    """Compile our modules now, as pip did with those it installed: else the first start does."""
    command = [str(python), "-m", "compileall", "-q", str(CHECKOUT / "companion")]
    subprocess.run(command, check=False)


def _fingerprint(*, with_tests: bool) -> str:
    text = (CHECKOUT / "pyproject.toml").read_bytes()
    return hashlib.sha256(text).hexdigest() + (" with tests" if with_tests else "")


def _why_no_window() -> str:
    """What the program itself would say instead of opening its window; empty when it can open."""
    question = "from companion.desktop.display import why_no_window; print(why_no_window())"
    python = str(ENVIRONMENT / "bin" / "python")
    answer = subprocess.run([python, "-c", question], check=False, capture_output=True, text=True)
    return answer.stdout.strip() or answer.stderr.strip()


def _run_program() -> int:
    companion = str(ENVIRONMENT / "bin" / "companion")
    if not _why_no_window():
        print("Opening the window. Next time: .venv/bin/companion", flush=True)
        return subprocess.run([companion], check=False).returncode
    score = CHECKOUT / "sample_scores" / SAMPLE_SCORE
    take = CHECKOUT / "sample_scores" / "takes" / score.stem / "example.mid"
    print(
        "\nThere is no display here that answers, so the window cannot open. This is\n"
        "the same comparison in text: a sample score and a recorded take of it (demo data),\n"
        "section by section.\n",
        flush=True,
    )
    status = subprocess.run([companion, "compare", str(score), str(take)], check=False).returncode
    print(
        "\nTo get the window, run  .venv/bin/companion  in a desktop session"
        " (or with DISPLAY set,\nfor instance over ssh -X)."
    )
    return status


def _run_tests(pytest_arguments: list[str]) -> int:
    checks = (
        ("formatting", ["ruff", "format", "--check", "."]),
        ("lint", ["ruff", "check", "."]),
        ("types", ["mypy"]),
        ("layers", ["lint-imports"]),
        ("tests", ["python", "-m", "pytest", *pytest_arguments]),
    )
    headless = {
        **os.environ,
        "QT_QPA_PLATFORM": os.environ.get("QT_QPA_PLATFORM", "offscreen"),
        "PATH": f"{ENVIRONMENT / 'bin'}{os.pathsep}{os.environ.get('PATH', '')}",
    }
    failed = []
    for name, command in checks:
        print(f"\n== {name}: {' '.join(command)}", flush=True)
        program = [str(ENVIRONMENT / "bin" / command[0]), *command[1:]]
        if subprocess.run(program, cwd=CHECKOUT, env=headless, check=False).returncode:
            failed.append(name)
    print("\nFailed: " + ", ".join(failed) if failed else "\nAll checks and tests passed.")
    return 1 if failed else 0


if __name__ == "__main__":
    raise SystemExit(main())
