"""A code gives the same whole drill in another process, whatever order its sets and digests of words take."""

import os
import subprocess
import sys

from tests.drill.digest import lines


def test_another_process_gives_the_same_boat_readings_marks_and_best_path() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "tests.drill.digest", "1"],
        env={**os.environ, "PYTHONHASHSEED": "12345"},
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout.splitlines() == list(lines(1))
