"""Set the program up as README.md says, with bare interpreters: ``python -m tests.set_up [OPTIONS] PYTHON ...``.

Each interpreter gets a copy of the checkout in a folder of its own, where the README's first line runs
exactly as written; then a wheel built from that copy, in an environment of its own. With either, a hunt is played
from another folder, without a network where the system lets a process be cut off from it. ``--tests`` runs the
README's second line too, which takes the time of all tests; ``--lowest`` plays the hunt with the oldest packages that
the project table allows.
"""

import argparse
import os
import re
import shlex
import shutil
import subprocess
import sys
import tempfile
import time
import tomllib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from tests.record_examples import EXAMPLES, ROOT, record

LEFT_BY_TOOLS: Final = (
    ".git",
    ".venv",
    ".*_cache",
    ".hypothesis",
    ".import_linter_cache",
    "__pycache__",
    "dist",
    "build",
)
CUT_OFF: Final = (shutil.which("unshare") or "unshare", "--net")
"""What starts a program without a network."""

LONGEST_S: Final = 3600


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What came of one step; an empty `trouble` is a success."""

    python: str
    step: str
    seconds: float
    trouble: str


def readme_lines() -> list[str]:
    """Return the lines of the README that set the program up: for the job, and for the tests."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    return [line for line in text.splitlines() if line.startswith("python3 -m venv")]


def can_cut_off() -> bool:
    """Tell whether a program can be run without a network here."""
    try:
        return (
            subprocess.run(
                [*CUT_OFF, sys.executable, "--version"], capture_output=True, check=False
            ).returncode
            == 0
        )
    except OSError:
        return False


def as_python3(python: str, folder: Path) -> dict[str, str]:
    """Return an environment in which the word ``python3`` starts that interpreter, and nothing leads elsewhere."""
    folder.mkdir()
    shim = folder / "python3"
    shim.write_text(f'#!/bin/sh\nexec {shlex.quote(python)} "$@"\n', encoding="utf-8")
    shim.chmod(0o755)
    kept = {
        name: value for name, value in os.environ.items() if not name.startswith(("PYTHON", "VIRTUAL_ENV"))
    }
    return {**kept, "PATH": f"{folder}{os.pathsep}{os.environ['PATH']}", "HOME": str(folder)}


def copy_of_checkout(folder: Path) -> None:
    """Copy the checkout, or what an archive of it unpacks to, without what tools left there."""
    shutil.copytree(ROOT, folder, ignore=shutil.ignore_patterns(*LEFT_BY_TOOLS))


def run(words: str, folder: Path, environment: dict[str, str], typed: str = "", wanted: str = "") -> None:
    """Run a line of a shell; raise with the end of what it said when it fails, or does not say what is wanted."""
    done = subprocess.run(
        ["/bin/sh", "-c", words],
        cwd=folder,
        env=environment,
        input=typed,
        capture_output=True,
        text=True,
        timeout=LONGEST_S,
        check=False,
    )
    if done.returncode or wanted not in done.stdout:
        raise ChildProcessError(f"exit code {done.returncode}: {(done.stdout + done.stderr)[-400:]}")


def play(program: Path, folder: Path) -> None:
    """Play a hunt by line protocol from `folder`; raise unless it ends with the fault mended."""
    folder.mkdir()
    bare = ["/usr/bin/env", "-i", f"HOME={folder}", str(program)]
    start = [*CUT_OFF, *bare] if can_cut_off() else bare
    end = record(EXAMPLES[0], folder / "cases", program=start, folder=folder)
    if end["ending"] != "mended":
        raise ChildProcessError(f"the hunt ended otherwise: {end['text']}")


def lowest_bounds() -> str:
    """Return the oldest packages that the program may be installed with, as pip's constraints."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    return "".join(f"{one.replace('>=', '==')}\n" for one in project["dependencies"])


def steps(python: str, top: Path, *, tests: bool, lowest: bool) -> Iterator[tuple[str, Callable[[], None]]]:
    """Yield the steps for one interpreter, each with its name, to be taken in this order."""
    environment = as_python3(python, top / "bin")
    source, wheels = top / "source", top / "wheels"
    job, check = readme_lines()
    installed = top / "installed" / "bin"

    yield "copy of the source", lambda: copy_of_checkout(source)
    yield (
        "README's first line, a symptom chosen, saved",
        lambda: run(job, source, environment, typed="1\nsave\n", wanted="leadline resume dabchick"),
    )
    yield "hunt from another folder", lambda: play(source / ".venv/bin/leadline", top / "one")
    build = f".venv/bin/pip wheel -q . --no-deps -w {shlex.quote(str(wheels))}"
    yield "wheel built", lambda: run(build, source, environment)
    yield (
        "wheel installed",
        lambda: run(
            "python3 -m venv installed && installed/bin/pip install -q wheels/*.whl", top, environment
        ),
    )
    yield "hunt with the wheel", lambda: play(installed / "leadline", top / "two")
    same = f"{installed / 'python'} {shlex.quote(str(source / 'tests' / 'installed.py'))} {shlex.quote(str(source))}"
    yield "wheel carries what the checkout has", lambda: run(same, top / "two", environment)
    if lowest:
        (top / "lowest").write_text(lowest_bounds(), encoding="utf-8")
        yield (
            "wheel with the oldest packages allowed",
            lambda: run(
                "python3 -m venv oldest && oldest/bin/pip install -q -c lowest wheels/*.whl", top, environment
            ),
        )
        yield "hunt with these", lambda: play(top / "oldest/bin/leadline", top / "three")
    if tests:
        yield "README's second line (all checks)", lambda: run(check, source, environment)


def outcomes(python: str, *, tests: bool, lowest: bool) -> Iterator[Outcome]:
    """Yield what came of each step, up to the first that failed."""
    version = subprocess.run([python, "--version"], capture_output=True, text=True, check=True).stdout.strip()
    with tempfile.TemporaryDirectory() as top:
        for step, take in steps(python, Path(top), tests=tests, lowest=lowest):
            began, trouble = time.perf_counter(), ""
            try:
                take()
            except (OSError, ValueError, subprocess.SubprocessError, AssertionError) as error:
                trouble = re.sub(r"\s+", " ", str(error)) or type(error).__name__
            yield Outcome(python=version, step=step, seconds=time.perf_counter() - began, trouble=trouble)
            if trouble:
                return


def main() -> int:
    """Set up with every interpreter named, print a table, return 0 when all went well."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument(
        "python", nargs="*", default=[sys.executable], help="interpreters; this one when left out"
    )
    parser.add_argument("--tests", action="store_true", help="run the README's second line too")
    parser.add_argument("--lowest", action="store_true", help="hunt with the oldest packages allowed, too")
    arguments = parser.parse_args()
    print(
        "Hunts run",
        "without a network." if can_cut_off() else "WITH the network: it cannot be taken away here.",
    )
    print("\n| Python | step | s | |\n| --- | --- | ---: | --- |")
    failed = False
    for python in arguments.python:
        for one in outcomes(python, tests=arguments.tests, lowest=arguments.lowest):
            failed = failed or bool(one.trouble)
            print(f"| {one.python} | {one.step} | {one.seconds:.1f} | {one.trouble or 'ok'} |", flush=True)
    return int(failed)


if __name__ == "__main__":
    sys.exit(main())
