import os
import pickle
from hashlib import sha256
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis.extra.numpy import array_shapes, arrays
from numpy.typing import NDArray

from assistant.records import Cache
from assistant.records.cache import _packed, _unpacked

SOME = {"volts": np.array([[0.0, -1.5], [np.nan, np.inf]]), "on": np.array([True, False]), "n": np.arange(3)}


def same(one: NDArray[Any], other: NDArray[Any]) -> bool:
    return one.dtype == other.dtype and one.shape == other.shape and one.tobytes() == other.tobytes()


def only_file(folder: Path) -> Path:
    (path,) = folder.iterdir()
    return path


@given(
    volts=arrays(np.float64, array_shapes(min_dims=1, max_dims=3, min_side=0)),
    on=arrays(np.bool_, array_shapes()),
    numbers=arrays(np.int64, array_shapes()),
)
def test_what_is_kept_comes_back_to_the_last_bit(
    volts: NDArray[Any], on: NDArray[Any], numbers: NDArray[Any]
) -> None:
    kept = {"volts": volts, "on": on, "numbers": numbers}
    found = _unpacked(_packed(kept, "key"), "key")
    assert found is not None
    assert found.keys() == kept.keys()
    assert all(same(found[name], kept[name]) for name in kept)


def test_nothing_is_there_before_it_was_kept_and_other_keys_know_nothing_of_it(tmp_path: Path) -> None:
    cache = Cache(tmp_path / "new")
    assert cache.get("a") is None
    cache.put("a", SOME)
    found = cache.get("a")
    assert found is not None
    assert all(same(found[name], SOME[name]) for name in SOME)
    assert cache.get("b") is None
    assert cache.within("other boat").get("a") is None


def test_a_file_under_anothers_name_is_not_taken_for_it(tmp_path: Path) -> None:
    cache = Cache(tmp_path)
    cache.put("a", SOME)
    moved = only_file(tmp_path)
    cache.put("b", {"volts": np.zeros(2)})
    (other,) = set(tmp_path.iterdir()) - {moved}
    moved.replace(other)
    assert cache.get("b") is None


def test_damage_at_any_byte_and_any_cut_is_noticed() -> None:
    data = _packed(SOME, "key")
    for place in range(len(data)):
        assert _try(data[:place]) is None
        assert _try(data[:place] + bytes([data[place] ^ 0x41]) + data[place + 1 :]) is None
    assert _try(data + b"x") is None


def _try(data: bytes) -> object:
    folder = Path(os.environ["XDG_CACHE_HOME"]) / "damage"
    cache = Cache(folder)
    cache.put("key", SOME)
    only_file(folder).write_bytes(data)
    return cache.get("key")


@pytest.mark.parametrize(
    "data", [b"", b"\x80\x04N.", pickle.dumps({"volts": 1}), b"leadline cache 1\n" + b"0" * 99]
)
def test_a_foreign_file_counts_as_nothing(data: bytes, tmp_path: Path) -> None:
    cache = Cache(tmp_path)
    cache.put("key", SOME)
    only_file(tmp_path).write_bytes(data)
    assert cache.get("key") is None


@pytest.mark.skipif(not hasattr(os, "getuid"), reason="needs owners and modes of files")
def test_a_file_that_others_may_write_or_a_link_is_not_read(tmp_path: Path) -> None:
    cache = Cache(tmp_path / "cache")
    cache.put("key", SOME)
    path = only_file(tmp_path / "cache")
    path.chmod(0o666)
    assert cache.get("key") is None
    path.chmod(0o600)
    assert cache.get("key") is not None
    elsewhere = path.replace(tmp_path / "elsewhere")
    path.symlink_to(elsewhere)
    assert cache.get("key") is None


def test_arrays_of_objects_are_never_made() -> None:
    data = _packed({"volts": np.zeros(1)}, "key")
    assert b'"<f8"' in data
    start = len(b"leadline cache 1\n") + 32
    content = data[start:].replace(b'"<f8"', b'"|O8"')
    assert _unpacked(data[: start - 32] + sha256(content).digest() + content, "key") is None


def test_a_place_that_takes_nothing_is_no_trouble(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    cache = Cache(tmp_path / "file")
    cache.put("key", SOME)
    assert cache.get("key") is None


def test_old_files_make_room(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("assistant.records.cache._MOST_FILES", 3)
    cache = Cache(tmp_path)
    for number in range(5):
        cache.put(str(number), SOME)
        newest = max(tmp_path.iterdir(), key=lambda path: path.stat().st_mtime_ns)
        os.utime(newest, (number, number))
    assert len(list(tmp_path.iterdir())) == 3
    assert cache.get("4") is not None
    assert cache.get("0") is None
