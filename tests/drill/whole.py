"""A program takes the whole course by itself, first lesson to last.

``python -m tests.drill.whole [LEARNER]`` tells and plays every drill of every lesson on its best path until the course
is done, and prints each; it ends with 1 when a drill was not passed.  It types the same commands and reads the same
events as a program on the line protocol does.
"""

import sys
from collections.abc import Iterator

from assistant.dialogue import load_knowledge
from assistant.drill import Drill, course_key, issue_for_course
from assistant.lessons import Attempt, Standing, standing
from assistant.records import knowledge_files
from tests.drill.player import Player, diagnosis_on

MOST_DRILLS = 200


def taken(learner: str) -> Iterator[tuple[Attempt, Standing]]:
    """Yield each drill that was played, and where the learner stood after it."""
    lessons = load_knowledge(knowledge_files()).lessons.values()
    attempts: list[Attempt] = []
    for _ in range(MOST_DRILLS):
        coming = standing(learner, lessons, attempts).next
        if coming is None:
            return
        key = course_key(learner, coming.lesson.id, coming.number, coming.attempt)
        diag = diagnosis_on(coming.drill.boat)
        hidden = issue_for_course(diag, coming.drill, key)
        drill = Drill(diag, hidden, feedback="none", cautions={})
        Player(drill, hidden, diag).play_best()
        assert drill.score is not None
        attempts.append(
            Attempt(
                learner=learner,
                lesson=coming.lesson.id,
                drill=coming.number,
                key=key,
                passed=drill.score.passed,
                seconds=drill.score.seconds,
                best_seconds=drill.score.best_seconds,
            )
        )
        sys.stderr.write("".join(f"  {one}\n" for one in drill.score.shortfalls))
        yield attempts[-1], standing(learner, lessons, attempts)


def main(learner: str) -> int:
    """Play the course and tell how it went."""
    missed = 0
    for attempt, where in taken(learner):
        missed += not attempt.passed
        outcome = "passed" if attempt.passed else "not passed"
        sys.stdout.write(
            f"{attempt.lesson} {attempt.drill} ({attempt.key}): {outcome}, {attempt.seconds:.0f} s; "
        )
        sys.stdout.write(f"{where.lessons_passed} of {where.lessons} lessons passed\n")
        sys.stdout.flush()
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1] if len(sys.argv) > 1 else "Ida"))
