"""The real program, started as a person or another program starts it."""

import os
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

from tests.console.screen import ROOT

PROGRAM = ["-c", "import sys; from assistant.cli import main; sys.exit(main())"]


def run(
    words: Sequence[str], typed: str = "", *, folder: Path = ROOT, term: str = "xterm"
) -> subprocess.CompletedProcess[str]:
    """Run the program with its input through a pipe, and see that it never shows its insides."""
    done = subprocess.run(
        [sys.executable, *PROGRAM, *words],
        input=typed,
        capture_output=True,
        text=True,
        encoding="utf-8",
        cwd=folder,
        env={
            "PATH": "",
            "PYTHONPATH": str(ROOT),
            "TERM": term,
            "HOME": str(folder),
            "XDG_CACHE_HOME": os.environ["XDG_CACHE_HOME"],
            "PYTHONIOENCODING": "utf-8",
        },
        check=False,
        timeout=60,
    )
    assert "Traceback" not in done.stdout + done.stderr
    return done
