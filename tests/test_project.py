"""The promises of the project's own files: README, project table, contracts, the script for CI."""

import re
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[1]
PROJECT: dict[str, Any] = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
PURE = [
    "session",
    "dialogue",
    "lessons",
    "diagnosis",
    "circuit",
    "wiring",
    "catalogue",
    "documents",
    "quantities",
    "errors",
]


def readme_commands() -> list[str]:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    return [line for line in text.splitlines() if line.startswith("python3 -m venv")]


def expand(entries: list[Any], table: dict[str, list[Any]]) -> set[str]:
    """Follow ``leadline[name]`` in the extras and ``include-group`` in the groups."""
    names: set[str] = set()
    for entry in entries:
        within = entry["include-group"] if isinstance(entry, dict) else None
        extra = re.fullmatch(r"leadline\[(.+)\]", entry) if isinstance(entry, str) else None
        within = extra[1] if extra else within
        names |= expand(table[within], table) if within else {entry}
    return names


def test_readme_has_one_line_for_the_job_and_one_for_the_tests() -> None:
    job, tests = readme_commands()
    assert job.endswith("leadline find dabchick")
    assert tests.endswith("tests/check.py")


def test_ci_runs_the_very_test_line_of_the_readme() -> None:
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines()
    assert readme_commands()[1] in script


def test_extras_and_groups_say_the_same() -> None:
    extras = PROJECT["project"]["optional-dependencies"]
    groups = PROJECT["dependency-groups"]
    assert {name: expand(extras[name], extras) for name in extras} == {
        name: expand(groups[name], groups) for name in groups
    }


@pytest.mark.parametrize("layer", PURE)
def test_numpy_random_is_refused_in_the_pure_layers(layer: str) -> None:
    assert "TID251" in lint("import numpy as np\n\nNOISE = np.random.default_rng()\n", layer)


def test_numpy_random_is_allowed_in_the_drill() -> None:
    assert "TID251" not in lint("import numpy as np\n\nNOISE = np.random.default_rng()\n", "drill")


@pytest.mark.parametrize(
    ("code", "rule"), [("print(1)\n", "T201"), ('open("x")\n', "PTH123"), ("", "INP001")]
)
def test_linter_refuses_what_the_contracts_cannot_see(code: str, rule: str) -> None:
    assert rule in lint(code, "new_folder_without_init")


@pytest.mark.parametrize(
    ("layer", "line", "contract"),
    [
        ("circuit", "import time", "Pure from session"),
        ("session", "import os.path", "Pure from session"),
        ("novel", "import errno", "Layers"),
        ("plan", "import rich", "Only the console"),
        ("quantities", "import assistant.cli.main", "Layers"),
    ],
)
def test_contracts_refuse(layer: str, line: str, contract: str, tmp_path: Path) -> None:
    broken = [text for text in contracts(tmp_path, {layer: line}).splitlines() if text.endswith("BROKEN")]
    assert any(text.startswith(contract) for text in broken)


def test_contracts_allow_what_the_outer_layers_need(tmp_path: Path) -> None:
    report = contracts(
        tmp_path,
        {
            "console": "import prompt_toolkit.history, rich.text, assistant.session",
            "records": "import os, pathlib, assistant.wiring",
            "drill": "import random, assistant.session",
            "cli": "import sys, assistant.console",
            "session": "import math, json, numpy",
        },
    )
    assert "Contracts: 3 kept, 0 broken." in report


def lint(code: str, layer: str) -> str:
    """Return what the linter says of a module in a layer, as if it lay there."""
    command = [sys.executable, "-m", "ruff", "check", "--output-format", "concise", "--stdin-filename"]
    where = f"assistant/{layer}/noise.py"
    run = subprocess.run(
        [*command, where, "-"], input=code, capture_output=True, text=True, cwd=ROOT, check=False
    )
    assert run.returncode in {0, 1}, run.stderr
    return run.stdout


def contracts(root: Path, lines: dict[str, str]) -> str:
    """Return the report of the import contracts on a package made of these lines, one a layer."""
    package = root / "assistant"
    for layer in {"cli", "session", "wiring", *lines}:
        (package / layer).mkdir(parents=True)
        (package / layer / "__init__.py").write_text(lines.get(layer, ""), encoding="utf-8")
    (package / "cli" / "main.py").touch()
    (package / "__init__.py").touch()
    (root / "pyproject.toml").write_bytes((ROOT / "pyproject.toml").read_bytes())
    code = "from importlinter.cli import lint_imports_command as check; check(['--no-cache'])"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=root, check=False)
    assert run.returncode in {0, 1}, run.stderr
    return run.stdout
