"""The interview that describes a boat: which question comes next, and what "usual", "back" and "save" make of it.

An interview is a list of answers in order; which question comes next follows from them alone, so going back is
dropping the last one.  Every question has a usual answer, worked out from the answers before it, so that whoever
does not know can go on and still gets a boat that hangs together.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from assistant.plan.question import Question, checked
from assistant.plan.ranges import within_kinds
from assistant.plan.sizing import Answers, Sizing
from assistant.plan.topics import TOPICS


@dataclass(frozen=True, slots=True, kw_only=True)
class Interview:
    """An interview as far as it has come.

    Attributes
    ----------
    sizing : what usual answers are worked out from.
    given : keys and answers in the order given.
    unknown : keys whose usual answer was taken because nobody knew.
    """

    sizing: Sizing
    given: tuple[tuple[str, str], ...] = ()
    unknown: frozenset[str] = frozenset()

    @property
    def answers(self) -> Answers:
        """The answers by key."""
        return dict(self.given)

    @property
    def question(self) -> Question | None:
        """The first question that has no answer yet, or None when all is known."""
        answers = self.answers
        for topic in TOPICS:
            question = topic(answers, self.sizing)
            if question is not None and question.key not in answers:
                return within_kinds(question, answers, self.sizing.catalogue)
        return None

    def answer(self, typed: str) -> Interview:
        """Return the interview with one answer more.

        Raises
        ------
        AnswerError
            If it is no answer to the question.
        """
        question = self.question
        if question is None:
            return self
        kept = checked(question, typed, self.sizing.catalogue)
        return replace(self, given=(*self.given, (question.key, kept)))

    def usual(self, *, known: bool) -> Interview:
        """Return the interview with the usual answer to the present question; `known` tells a choice from a guess."""
        question = self.question
        if question is None:
            return self
        unknown = self.unknown if known else self.unknown | {question.key}
        return replace(self, given=(*self.given, (question.key, question.usual)), unknown=unknown)

    def back(self) -> Interview:
        """Return the interview without its last answer."""
        dropped = {key for key, _ in self.given[-1:]}
        return replace(self, given=self.given[:-1], unknown=self.unknown - dropped)

    def without(self, key: str) -> Interview:
        """Return the interview with one answer taken out, so that it is asked again and all others stay."""
        kept = tuple((name, answer) for name, answer in self.given if name != key)
        return replace(self, given=kept, unknown=self.unknown - {key})

    def finished(self) -> Interview:
        """Return the interview with the usual answer to every question left, which nobody was asked."""
        done = self
        while done.question is not None:
            done = done.usual(known=False)
        return done
