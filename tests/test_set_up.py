import re
import sys
from pathlib import Path

import pytest

from tests.set_up import Outcome, as_python3, copy_of_checkout, lowest_bounds, outcomes, readme_lines, run


def test_the_oldest_packages_are_named_one_version_each() -> None:
    assert all(re.fullmatch(r"[a-z_]+==[0-9.]+", line) for line in lowest_bounds().splitlines())


def test_the_readme_has_its_two_lines() -> None:
    assert len(readme_lines()) == 2


def test_python3_is_the_interpreter_that_was_named(tmp_path: Path) -> None:
    environment = as_python3(sys.executable, tmp_path / "bin")
    run("python3 -c 'import sys; print(sys.executable)'", tmp_path, environment, wanted=sys.executable)
    assert not any(name.startswith("PYTHON") for name in environment)


@pytest.mark.parametrize(("words", "wanted"), [("echo so; exit 3", "so"), ("echo so", "otherwise")])
def test_a_line_that_fails_or_says_something_else_is_trouble(words: str, wanted: str, tmp_path: Path) -> None:
    with pytest.raises(ChildProcessError, match="so"):
        run(words, tmp_path, {}, wanted=wanted)


def test_an_interpreter_without_venv_fails_at_the_first_line_of_the_readme(tmp_path: Path) -> None:
    bare = tmp_path / "bare"
    bare.write_text(
        '#!/bin/sh\n[ "$1" = --version ] && echo Python 3.99 && exit\necho no module venv\nexit 1\n'
    )
    bare.chmod(0o755)
    copied, line = outcomes(str(bare), tests=False, lowest=False)
    assert (copied.trouble, line.python) == ("", "Python 3.99")
    assert "no module venv" in line.trouble
    assert isinstance(line, Outcome)


def test_the_copy_has_what_the_wheel_is_built_of(tmp_path: Path) -> None:
    copy_of_checkout(tmp_path / "copy")
    names = {path.name for path in (tmp_path / "copy").iterdir()}
    assert names >= {"assistant", "knowledge", "cases", "pyproject.toml", "README.md"}
    assert not names & {".git", ".venv", ".pytest_cache"}
