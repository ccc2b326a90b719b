"""What the source must not do: evaluate text, start a shell, reach a network; and how long a module may be."""

import ast
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parents[1] / "assistant"
MODULES = sorted(PACKAGE.rglob("*.py"))
MOST_LINES = 700
IMPORTED_AS = {"pyyaml": "yaml"}

EVALUATING = {"eval", "exec", "compile", "__import__", "breakpoint"}
STARTING = {"system", "popen", "startfile", "fork", "forkpty"} | {
    f"{verb}{end}" for verb in ("exec", "spawn") for end in ("l", "le", "lp", "lpe", "v", "ve", "vp", "vpe")
}
UNPICKLING = {"pickle", "marshal", "shelve", "dill", "code", "codeop", "runpy"}
REACHING = {
    "aiohttp", "asyncio", "ctypes", "ftplib", "http", "httpx", "imaplib", "multiprocessing", "poplib", "pty",
    "requests", "smtplib", "socket", "socketserver", "ssl", "subprocess", "telnetlib", "urllib", "urllib3",
    "webbrowser", "xmlrpc",
}  # fmt: skip


def forbidden(tree: ast.AST) -> Iterator[str]:
    """Yield what a module does that none may do, with the line."""
    for node in ast.walk(tree):
        match node:
            case ast.Name(id=name) if name in EVALUATING:
                yield f"{node.lineno}: {name}"
            case ast.Attribute(value=ast.Name(id="os"), attr=name) if name in STARTING:
                yield f"{node.lineno}: os.{name}"
            case ast.Attribute(value=ast.Name(id="yaml"), attr="load" | "unsafe_load" | "full_load" as name):
                yield f"{node.lineno}: yaml.{name}"
            case ast.Import(names=names):
                yield from (f"{node.lineno}: {one.name}" for one in names if _banned(one.name))
            case ast.ImportFrom(module=str(name), level=0) if _banned(name):
                yield f"{node.lineno}: {name}"
            case ast.keyword(arg="allow_pickle" | "shell", value=value):
                if not (isinstance(value, ast.Constant) and value.value is False):
                    yield f"{node.lineno}: {node.arg}"
            case _:
                pass


def _banned(module: str) -> bool:
    return module.partition(".")[0] in UNPICKLING | REACHING


@pytest.mark.parametrize(
    "line",
    [
        "eval('1')",
        "run = exec",
        "import os\nos.system('ls')",
        "import os\nos.execvp('ls', [])",
        "import subprocess",
        "from urllib.request import urlopen",
        "import http.client as web",
        "import pickle",
        "import yaml\nyaml.load('x')",
        "f(shell=True)",
        "f(allow_pickle=True)",
    ],
)
def test_what_must_not_be_is_seen(line: str) -> None:
    assert list(forbidden(ast.parse(line)))


@pytest.mark.parametrize("module", MODULES, ids=lambda path: path.relative_to(PACKAGE).as_posix())
def test_nothing_is_evaluated_started_or_reached(module: Path) -> None:
    assert list(forbidden(ast.parse(module.read_text(encoding="utf-8")))) == []


def test_the_packages_imported_are_those_that_are_installed_with_it() -> None:
    wanted = tomllib.loads((PACKAGE.parent / "pyproject.toml").read_text(encoding="utf-8"))["project"][
        "dependencies"
    ]
    names = {IMPORTED_AS.get(name, name) for name in (one.partition(">=")[0] for one in wanted)}
    found = {
        module.partition(".")[0]
        for path in MODULES
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        for module in (
            [one.name for one in node.names]
            if isinstance(node, ast.Import)
            else [str(node.module)]
            if isinstance(node, ast.ImportFrom) and node.level == 0
            else []
        )
    }
    assert found - {"assistant"} - sys.stdlib_module_names == names


def test_no_module_is_longer_than_a_person_reads_at_a_sitting() -> None:
    long = {path.name for path in MODULES if len(path.read_text(encoding="utf-8").splitlines()) > MOST_LINES}
    assert long == set()
