import zipfile
from importlib.resources.abc import Traversable
from pathlib import Path

import pytest

from assistant.records import (
    boats_in,
    example_boats,
    knowledge_digest,
    knowledge_files,
    library,
    title_of,
)

FILES = {
    "knowledge/sources.yaml": "sources: {}\n",
    "knowledge/parts/servo.yaml": "kind: servo  # 5 V ± 10 %, 4.7 kΩ\n",
    "knowledge/parts/notes.txt": "left out\n",
    "cases/teal.yaml": "boat: Teal\n",
    "cases/dabchick.yaml": "boat: Dabchick\n",
    "cases/dabchick.case.jsonl": "{}\n",
    "cases/recorded/heron.yaml": "no boat of the top level\n",
}


@pytest.fixture(params=["folder", "archive"])
def root(request: pytest.FixtureRequest, tmp_path: Path) -> Traversable:
    if request.param == "archive":
        with zipfile.ZipFile(tmp_path / "all.zip", "w") as archive:
            for name, text in FILES.items():
                archive.writestr(name, text)
        return zipfile.Path(tmp_path / "all.zip")
    for name, text in FILES.items():
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text(text, encoding="utf-8")
    return tmp_path


def test_knowledge_is_every_yaml_file_below_the_folder_in_order(root: Traversable) -> None:
    assert list(knowledge_files(root).items()) == [
        ("parts/servo.yaml", FILES["knowledge/parts/servo.yaml"]),
        ("sources.yaml", FILES["knowledge/sources.yaml"]),
    ]


def test_boats_are_the_yaml_files_directly_in_cases(root: Traversable) -> None:
    boats = example_boats(root)
    assert list(boats) == ["dabchick", "teal"]
    assert boats["teal"].read_text(encoding="utf-8") == "boat: Teal\n"


@pytest.mark.parametrize(("read", "name"), [(knowledge_files, "knowledge"), (example_boats, "cases")])
def test_a_missing_folder_is_named_with_the_next_step(read: object, name: str, tmp_path: Path) -> None:
    assert callable(read)
    with pytest.raises(FileNotFoundError, match=f"{name} is missing.*install it again"):
        read(tmp_path)


def test_a_source_checkout_is_read_beside_the_package(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.chdir(tmp_path)
    root = library._brought_along()
    assert isinstance(root, Path)
    assert (root / "pyproject.toml").is_file()
    assert (root / "assistant" / "records" / "library.py").samefile(library.__file__)


def test_an_installed_package_reads_what_it_carries(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    (tmp_path / "_data" / "cases").mkdir(parents=True)
    (tmp_path / "_data" / "cases" / "coot.yaml").write_text("boat: Coot\n", encoding="utf-8")
    monkeypatch.setattr(library, "files", lambda _package: tmp_path)
    assert list(example_boats()) == ["coot"]


def test_the_digest_changes_with_any_text_and_any_name_but_not_with_the_order() -> None:
    texts = {"a.yaml": "kind: a\n", "b.yaml": "kind: b\n"}
    others = [
        {**texts, "a.yaml": "kind: a \n"},
        {"a.yaml": "kind: a\n"},
        {"a.yamlk": "ind: a\n", "b.yaml": "kind: b\n"},
    ]
    assert knowledge_digest(dict(reversed(texts.items()))) == knowledge_digest(texts)
    assert len({knowledge_digest(texts), *map(knowledge_digest, others)}) == 4


def test_boats_of_a_folder_are_the_files_that_name_one(tmp_path: Path) -> None:
    texts = {
        "teal.yaml": b"# wiring\nboat: Teal   # the old one\nparts: {}\n",
        "grebe.yaml": b"boat: 'Great Grebe'\n",
        "shopping.yaml": b"list:\n  boat: no\n",
        "broken.yaml": b"\xff\xfe\x00",
        "coot.txt": b"boat: Coot\n",
    }
    for name, data in texts.items():
        (tmp_path / name).write_bytes(data)
    (tmp_path / "folder.yaml").mkdir()
    assert [title_of(file) for file in boats_in(tmp_path).values()] == ["Great Grebe", "Teal"]
    assert boats_in(tmp_path / "absent") == {}
