import io
import time

import pytest

from assistant.console import PlainTerminal, patience


def told(seconds: float) -> str:
    sink = io.StringIO()
    with patience(PlainTerminal(io.StringIO(), sink), "Thinking", silent_s=0.1, again_s=0.1):
        time.sleep(seconds)
    return sink.getvalue()


def test_quick_work_is_done_in_silence() -> None:
    assert told(0.0) == ""


def test_slow_work_is_told_and_that_it_goes_on() -> None:
    lines = told(0.6).splitlines()
    assert lines[0] == "Thinking ..."
    assert lines[1].startswith("... still at it")


def test_what_fails_within_is_not_held_up() -> None:
    with (
        pytest.raises(ValueError, match="broken"),
        patience(PlainTerminal(io.StringIO(), io.StringIO()), "X"),
    ):
        raise ValueError("broken")
