"""What a drill code stands for, as a digest: boat, fault, readings, marks and best path.

``python -m tests.drill.digest [COUNT]`` prints one for each of the first of some codes.  Run it with another Python or
numpy and compare: the same lines mean that the codes give the same drills there.  Readings and costs are rounded to
three figures first, since the last bits of a solved circuit are the library's.
"""

import hashlib
import sys
from collections.abc import Iterator

from assistant.drill import Hidden
from assistant.drill.issuing import judge_of
from assistant.drill.judging import Shake
from assistant.drill.ledger import Known, Made
from assistant.drill.reference import BestPath, Done, best_path, evidence_of, first_evidence
from assistant.drill.wording import what_words
from tests.drill.player import diagnosis, hidden_at

CODES = tuple((level, seed) for level in range(1, 8) for seed in (0, 500))


def digest_of(hidden: Hidden) -> str:
    """Return the digest of a whole drill."""
    path = best_path(judge_of(diagnosis(), hidden), diagnosis().table.solver, hidden)
    lines = [*_boat(hidden), *_path(path)]
    if len(hidden.stories) == 1 and not hidden.comes_and_goes:
        lines += _marks(hidden, path)
    return hashlib.sha256("\n".join(lines).encode()).hexdigest()[:16]


def _boat(hidden: Hidden) -> Iterator[str]:
    for fault in hidden.faults:
        yield f"{fault.part} {fault.mode} {fault.severity:.3g}"
    for complaint in hidden.complaints:
        yield f"{complaint.query.part} {complaint.query.sign} {complaint.query.state.pairs} {complaint.well}"


def _path(path: BestPath) -> Iterator[str]:
    for done in path.checks:
        yield f"{_what(done)} {_rounded(done.shown)} {done.seconds:.3g} {done.counts}"
    named = " ".join(f"{repair.place} {repair.action}" for repair in path.named)
    yield f"{named} {path.right} {path.seconds:.3g}"


def _marks(hidden: Hidden, path: BestPath) -> Iterator[str]:
    """Yield the mark of each check of the best path, and of the same check made again."""
    judge, boat = judge_of(diagnosis(), hidden), hidden.boat(diagnosis().table.solver)
    start = Known(evidence=(first_evidence(boat, hidden.complaints[0], fickle=False),))
    before, state, last = start, hidden.complaints[0].query.state, None
    for done in path.checks:
        # A best path moves nothing, it reads and looks.
        assert not isinstance(done.what, Shake)
        assert not isinstance(done.shown, bool)
        piece = evidence_of(done.what, done.shown)
        for repeated in (False, True):
            after = Known(evidence=(*before.evidence, piece))
            made = Made(
                what=done.what,
                shown="",
                seconds=done.seconds,
                counts=True,
                start=start,
                before=before,
                after=after,
                stood=(state, last),
                repeated=repeated,
            )
            mark = made.mark(judge)
            yield f"{mark.worth} {mark.left}"
            before = after if not repeated else before
        state = done.what.state


def _what(done: Done) -> str:
    return f"{what_words(diagnosis().network.boat, done.what)} {done.what.state.pairs}"


def _rounded(shown: float | str | bool) -> str:
    return f"{shown:.3g}" if isinstance(shown, float) else str(shown)


def lines(count: int = len(CODES)) -> Iterator[str]:
    """Yield a line for each of the first codes."""
    for level, seed in CODES[:count]:
        hidden = hidden_at(level, seed)
        yield f"{hidden.key} {digest_of(hidden)}"


if __name__ == "__main__":
    for line in lines(int(sys.argv[1]) if len(sys.argv) > 1 else len(CODES)):
        sys.stdout.write(f"{line}\n")
        sys.stdout.flush()
