"""What `leadline prove` refuses before it reckons."""

import pytest

from tests.cli.program import run


@pytest.mark.parametrize(
    ("options", "named"),
    [
        (("--most", "0"), "--most"),
        (("--pairs", "--comes-and-goes"), "--pairs"),
        (("--pairs", "--misread"), "--pairs"),
    ],
)
def test_what_would_be_left_out_unseen_is_refused(options: tuple[str, ...], named: str) -> None:
    done = run(["prove", "dabchick", *options])
    assert done.returncode == 2
    assert named in done.stderr
    assert not done.stdout
