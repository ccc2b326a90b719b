"""DEVELOPERS.md says what is so: its map, the tests it names, the packages it gives reasons for."""

import ast
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
GUIDE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
TEXTS = (".md", ".py", ".yaml", ".toml")


def section(title: str) -> str:
    """Return what stands under a heading of the guide."""
    (found,) = re.findall(rf"^## {title}\n(.*?)(?=^## |\Z)", GUIDE, re.MULTILINE | re.DOTALL)
    return str(found)


def decisions() -> list[str]:
    return re.split(r"^- (?=\*\*)", section("Decisions"), flags=re.MULTILINE)[1:]


def named_tests(text: str) -> Iterator[tuple[str, str]]:
    """Yield file and test (or nothing) of every test a text names; ``::test`` belongs to the file before it."""
    file = ""
    for path, test in re.findall(r"`((?:\w+/)?test_\w+\.py)?(?:::(test_\w+))?`", text):
        file = path or file
        if path or test:
            yield file, test


def test_names_of_tests_are_told_apart() -> None:
    text = "by `a/test_b.py::test_c`, `::test_d` and `test_e.py`, not `f.py`"
    assert list(named_tests(text)) == [
        ("a/test_b.py", "test_c"),
        ("a/test_b.py", "test_d"),
        ("test_e.py", ""),
    ]


@pytest.mark.parametrize("decision", decisions(), ids=lambda text: text[2:40])
def test_every_decision_names_a_test_that_exists(decision: str) -> None:
    named = list(named_tests(" ".join(decision.split())))
    assert named or "No test confirms it" in decision
    for path, test in named:
        tree = ast.parse((ROOT / "tests" / path).read_text(encoding="utf-8"))
        found = {node.name for node in tree.body if isinstance(node, ast.FunctionDef)}
        assert not test or test in found, f"{path} has no {test}"


def test_the_map_has_every_module_once() -> None:
    rooms = re.split(r"^\*\*(\w+)\*\*: ", section("Map of the rooms"), flags=re.MULTILINE)[1:]
    told = [
        f"{room}/{name}"
        for room, text in zip(rooms[::2], rooms[1::2], strict=True)
        for name in re.findall(r"^- `(\w+)`: ", text, re.MULTILINE)
    ]
    package = ROOT / "assistant"
    there = [
        file.relative_to(package).with_suffix("").as_posix()
        for file in package.glob("*/*.py")
        if not file.name.startswith("__")
    ]
    assert sorted(told) == sorted(there)


def test_the_words_of_the_layers_are_those_of_the_contract() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    layers = project["tool"]["importlinter"]["contracts"][0]["layers"]
    written = re.search(r"```text\n(.*?)```", section("Layers"), re.DOTALL)
    assert written is not None
    assert [re.findall(r"\w+", line) for line in layers if line != layers[1]] == [
        [words.split()[0]] for words in written[1].splitlines() if re.match(r"[a-z]+  ", words)
    ]


def test_every_package_has_its_reason() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    wanted = [
        *project["dependencies"],
        *(one for extra in project["optional-dependencies"].values() for one in extra),
    ]
    names = [name for name in (re.split(r"[>=<;\[]", one)[0] for one in wanted) if name != project["name"]]
    rows = re.findall(
        r"^\| `([\w-]+)` \| ([^|]+) \| ([^|]+) \|$", section("Packages it stands on"), re.MULTILINE
    )
    assert sorted(names) == sorted(name for name, _, _ in rows)


def test_no_file_was_left_half_merged() -> None:
    marks = re.compile(r"^(<{7} |>{7} |={7}$)", re.MULTILINE)
    folders = ("assistant", "knowledge", "cases", "tests")
    files = [*ROOT.glob("*.*"), *(file for name in folders for file in (ROOT / name).rglob("*"))]
    found = [
        file for file in files if file.suffix in TEXTS and marks.search(file.read_text(encoding="utf-8"))
    ]
    assert found == []
