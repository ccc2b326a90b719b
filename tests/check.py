"""Check everything with one command: ``python tests/check.py [STEP ...]``.

The steps run in the order below, each whether or not the one before passed. The exit code is 0 when all
passed. With names of steps only those run.
"""

import subprocess
import sys
from pathlib import Path

STEPS: dict[str, list[str]] = {
    "format": ["-m", "ruff", "format", "--check", "."],
    "lint": ["-m", "ruff", "check", "."],
    "types": ["-m", "mypy"],
    "imports": ["-c", "from importlinter.cli import lint_imports_command as check; check()"],
    # Files whole to one worker: tests of a file share boats that were solved already.
    "tests": ["-m", "pytest", "-n", "auto", "--dist", "loadfile"],
}


def main(names: list[str]) -> int:
    unknown = [name for name in names if name not in STEPS]
    if unknown:
        print(f"no step {', '.join(unknown)}; the steps are {', '.join(STEPS)}", file=sys.stderr)
        return 2
    root = Path(__file__).resolve().parents[1]
    failed = []
    for name in names or STEPS:
        print(f"== {name}", flush=True)
        if subprocess.run([sys.executable, *STEPS[name]], cwd=root, check=False).returncode:
            failed.append(name)
    print(f"== failed: {', '.join(failed)}" if failed else "== all passed", flush=True)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
