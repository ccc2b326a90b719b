import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from assistant.errors import CaseError
from assistant.records import Closing, Header, create_journal, journal, open_journal, read_case

CLOSING = Closing(outcome="sole", text="replace fuse", at="now")

WRITER = """
import sys
from pathlib import Path
from assistant.records import open_journal
with open_journal(Path(sys.argv[1])) as case:
    for n in range(len(case.entries), 100_000):
        case.append({"n": n, "answer": "x" * 50})
        sys.stdout.write(f"{n}\\n")
        sys.stdout.flush()
"""


def test_each_answer_is_on_the_disk_when_append_returns(path: Path, header: Header) -> None:
    with create_journal(path, header) as case:
        for n in range(3):
            case.append({"n": n})
            assert [entry["n"] for entry in read_case(path).entries] == list(range(n + 1))
        case.finish(CLOSING)
    assert read_case(path).closing == CLOSING


def test_going_on_after_a_cut_writes_a_whole_file(path: Path, header: Header) -> None:
    with create_journal(path, header) as case:
        case.append({"n": 0})
        case.append({"n": 1})
    whole = path.read_bytes()
    for size in range(len(whole) - 20, len(whole)):
        path.write_bytes(whole[:size])
        with open_journal(path) as case:
            assert [entry["n"] for entry in case.entries] == [0]
            case.append({"n": 1})
        assert path.read_bytes() == whole


def test_killed_at_any_moment_nothing_acknowledged_is_lost(path: Path, header: Header) -> None:
    create_journal(path, header).close()
    seen = 0
    for _ in range(5):
        writer = subprocess.Popen([sys.executable, "-c", WRITER, path], stdout=subprocess.PIPE, text=True)
        assert writer.stdout is not None
        acknowledged = [int(writer.stdout.readline()) for _ in range(20)]
        writer.kill()
        acknowledged += [int(line) for line in writer.stdout if line.endswith("\n")]
        writer.stdout.close()
        writer.wait()
        recorded = [entry["n"] for entry in read_case(path).entries]
        assert recorded == list(range(len(recorded)))
        assert acknowledged[0] == seen
        assert len(recorded) >= acknowledged[-1] + 1
        seen = len(recorded)


def test_a_case_open_elsewhere_is_refused_and_free_again_afterwards(path: Path, header: Header) -> None:
    with create_journal(path, header) as case:
        with pytest.raises(CaseError, match="open in another program"):
            open_journal(path)
        case.append({"n": 0})
    with open_journal(path) as again:
        assert len(again.entries) == 1
        with pytest.raises(CaseError, match="open in another program"):
            open_journal(path)


def test_a_full_disk_is_said_and_takes_nothing_away(path: Path, header: Header) -> None:
    resource = pytest.importorskip("resource", reason="this system has no limit on file sizes")
    with create_journal(path, header) as case:
        case.append({"n": 0})
        before = path.read_bytes()
        soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
        old = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (len(before) + 10, hard))
        try:
            with pytest.raises(CaseError, match="the 1 answers before are safe; free some space"):
                case.append({"n": 1, "answer": "x" * 200})
        finally:
            resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
            signal.signal(signal.SIGXFSZ, old)
        assert path.read_bytes() == before
        case.append({"n": 1})
    assert len(read_case(path).entries) == 2


def test_a_write_that_cannot_be_taken_back_ends_the_recording(
    path: Path, header: Header, monkeypatch: pytest.MonkeyPatch
) -> None:
    def half(descriptor: int, data: bytes) -> None:
        os.write(descriptor, data[: len(data) // 2])
        raise OSError(28, "full")

    with create_journal(path, header) as case:
        case.append({"n": 0})
        monkeypatch.setattr(journal, "write_all", half)
        monkeypatch.setattr(os, "ftruncate", lambda *_: half(-1, b""))
        with pytest.raises(CaseError, match="disk is full"):
            case.append({"n": 1})
        monkeypatch.undo()
        with pytest.raises(CaseError):
            case.append({"n": 1})
    assert [entry["n"] for entry in read_case(path).entries] == [0]


@pytest.mark.parametrize("read", [open_journal, read_case])
def test_what_is_no_case_is_refused_and_left_alone(read: object, tmp_path: Path) -> None:
    assert callable(read)
    with pytest.raises(CaseError, match="there is no such case"):
        read(tmp_path / "absent")
    other = tmp_path / "letter.txt"
    other.write_text("Dear all\nnothing here\n")
    with pytest.raises(CaseError, match=r"letter.txt, line 1: it cannot be read"):
        read(other)
    assert other.read_text() == "Dear all\nnothing here\n"


def test_a_huge_file_is_not_read(path: Path) -> None:
    with path.open("wb") as file:
        file.truncate(journal.MAX_BYTES + 1)
    with pytest.raises(CaseError, match="far too big"):
        read_case(path)
