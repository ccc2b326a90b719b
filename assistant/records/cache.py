"""A place on the disk for arrays that took long to compute, so that the next start need not compute them.

What is kept can always be computed again, so nothing here is ever an error: a file that is missing, cut,
damaged, of another form or not ours counts as not there. A file holds its own digest and the whole text of
its key, so neither a damaged nor an exchanged one is taken for what it is not. It is written beside and moved
into place, so no reader sees half of it. Numbers are packed byte plane by byte plane, which halves them;
nothing that could run is ever read (no pickle).
"""

import contextlib
import hashlib
import json
import os
import struct
import tempfile
import zlib
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from platformdirs import user_cache_path

__all__ = ["Cache", "default_cache"]

Arrays = Mapping[str, NDArray[Any]]

_MAGIC: Final = b"leadline cache 1\n"
_SUFFIX: Final = ".cache"
_KINDS: Final = frozenset({"<f8", "|b1", "<i4", "<i8"})
_MOST_FILES: Final = 96
_MOST_BYTES: Final = 256 * 1024 * 1024
_LENGTH: Final = struct.Struct("<Q")


class Cache:
    """Arrays by key, kept in a folder.

    Parameters
    ----------
    folder
        Where the files lie; made when first needed.
    scope
        What all keys depend on besides their own text.
    """

    def __init__(self, folder: Path, *, scope: str = "") -> None:
        self._folder = folder
        self._scope = scope

    def within(self, scope: str) -> "Cache":
        """Return the same place for keys that depend on this as well."""
        return Cache(self._folder, scope=f"{self._scope}{scope}\n")

    def get(self, key: str) -> Arrays | None:
        """Return what was kept under a key, or None."""
        try:
            path = self._path(key)
            if path.stat().st_size > _MOST_BYTES or not _is_ours(path):
                return None
            return _unpacked(path.read_bytes(), self._whole(key))
        except (
            OSError,
            ValueError,
            KeyError,
            TypeError,
            struct.error,
            zlib.error,
            RecursionError,
            MemoryError,
        ):
            return None

    def put(self, key: str, arrays: Arrays) -> None:
        """Keep arrays under a key; a disk that cannot take them is as if they had not been offered."""
        with contextlib.suppress(OSError):
            self._folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            data = _packed(arrays, self._whole(key))
            if len(data) <= _MOST_BYTES:
                self._write(self._path(key), data)
                self._thin_out()

    def _write(self, path: Path, data: bytes) -> None:
        handle, name = tempfile.mkstemp(dir=self._folder, suffix=f"{_SUFFIX}~")
        try:
            with os.fdopen(handle, "wb") as stream:
                stream.write(data)
            Path(name).replace(path)
        except OSError:
            Path(name).unlink(missing_ok=True)
            raise

    def _thin_out(self) -> None:
        """Let go of what was not used for longest, and of what a killed program left half written."""
        files = sorted(self._folder.glob(f"*{_SUFFIX}*"), key=lambda path: -path.stat().st_mtime)
        held = 0
        for number, path in enumerate(files):
            held += path.stat().st_size
            if number >= _MOST_FILES or held > _MOST_BYTES:
                path.unlink(missing_ok=True)

    def _whole(self, key: str) -> str:
        return f"{self._scope}{key}"

    def _path(self, key: str) -> Path:
        return self._folder / f"{hashlib.sha256(self._whole(key).encode()).hexdigest()}{_SUFFIX}"


def default_cache() -> Cache:
    """Return the place in the person's own cache folder."""
    return Cache(user_cache_path("leadline", appauthor=False))


def _is_ours(path: Path) -> bool:
    """Tell whether a file is a plain one of this user's that nobody else can write to."""
    status = path.lstat()
    plain = path.is_file() and not path.is_symlink()
    if not hasattr(os, "getuid"):
        return plain
    return plain and status.st_uid == os.getuid() and not status.st_mode & 0o022


def _packed(arrays: Arrays, key: str) -> bytes:
    heads, bodies = [], []
    for name, array in arrays.items():
        body = zlib.compress(_planes(np.ascontiguousarray(array)), 1)
        heads.append([name, array.dtype.str, list(array.shape), len(body)])
        bodies.append(body)
    head = json.dumps({"key": key, "arrays": heads}).encode()
    content = b"".join([_LENGTH.pack(len(head)), head, *bodies])
    return _MAGIC + hashlib.sha256(content).digest() + content


def _unpacked(data: bytes, key: str) -> Arrays | None:
    start = len(_MAGIC) + hashlib.sha256().digest_size
    content = memoryview(data)[start:]
    if data[: len(_MAGIC)] != _MAGIC or hashlib.sha256(content).digest() != data[len(_MAGIC) : start]:
        return None
    (size,) = _LENGTH.unpack_from(content)
    head = json.loads(bytes(content[_LENGTH.size : _LENGTH.size + size]))
    if head["key"] != key:
        return None
    at = _LENGTH.size + size
    found: dict[str, NDArray[Any]] = {}
    for name, kind, shape, length in head["arrays"]:
        if kind not in _KINDS:
            return None
        found[name] = _array(zlib.decompress(content[at : at + length]), kind, tuple(shape))
        at += length
    return found


def _planes(array: NDArray[Any]) -> bytes:
    return array.reshape(-1).view(np.uint8).reshape(-1, array.itemsize).T.tobytes()


def _array(planes: bytes, kind: str, shape: tuple[int, ...]) -> NDArray[Any]:
    size = np.dtype(kind).itemsize
    flat = np.frombuffer(planes, dtype=np.uint8).reshape(size, -1).T
    return np.ascontiguousarray(flat).reshape(-1).view(kind).reshape(shape)
