"""From lesson files to lessons, form and names checked; whether the numbers come out is for `lint_lessons`."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping
from types import MappingProxyType

from assistant.catalogue import Status
from assistant.circuit import MeterFunction
from assistant.documents import (
    Mark,
    Node,
    Problems,
    Scalar,
    choice_of,
    entries_of,
    items_of,
    mapping_fields,
    parse_document,
    quantity_of,
    suggestion,
    text_of,
    texts_of,
    whole_of,
)
from assistant.errors import DocumentError, KnowledgeError, quote
from assistant.lessons.model import (
    MOST_AT_ONCE,
    Base,
    Current,
    Drill,
    Lesson,
    LessonSource,
    Look,
    Number,
    Reading,
    Value,
    Worked,
)
from assistant.quantities import Unit

FOLDER = "lessons/"
MOST_WORDS = 150
"""Longest text of a lesson, in words: what a newcomer reads standing at the water."""

_REQUIRED = ("lesson", "order", "title", "idea", "text", "worked", "caution", "sources", "drills")
_WHAT = ("read", "amps", "value", "sign")
_READ = tuple(str(one) for one in (MeterFunction.DC_VOLTS, MeterFunction.OHMS, MeterFunction.CONTINUITY))
"""What an example may read."""

_BRACES = re.compile(r"\{([^{}]*)\}")


def load_lessons(files: Mapping[str, str], cautions: Collection[str]) -> Mapping[str, Lesson]:
    """Return the lessons by id, in the order of the course.

    Parameters
    ----------
    files
        Text by path below the knowledge folder; files not in ``lessons/`` are left alone.
    cautions
        Ids of the cautions that lessons may name.

    Raises
    ------
    KnowledgeError
        With all problems of all files, each with its place.
    """
    problems = Problems()
    lessons = read_lessons(files, cautions, problems)
    problems.raise_if_any(KnowledgeError)
    return lessons


def read_lessons(
    files: Mapping[str, str], cautions: Collection[str], problems: Problems
) -> Mapping[str, Lesson]:
    """Return what can be read of the lessons, noting every problem."""
    found: list[Lesson] = []
    for path in sorted(path for path in files if path.startswith(FOLDER)):
        try:
            root = parse_document(files[path], path)
        except DocumentError as error:
            problems.extend(error.problems)
            continue
        lesson = _lesson(root, cautions, problems)
        if lesson is None:
            continue
        if path != f"{FOLDER}{lesson.id}.yaml":
            what = f"the lesson {quote(lesson.id)} in a file named {quote(path)}"
            problems.add(lesson.mark, "file-name", what, f"name the file {lesson.id}.yaml")
        _check_against(lesson, found, problems)
        found.append(lesson)
    return MappingProxyType({one.id: one for one in sorted(found, key=lambda one: (one.order, one.id))})


def _check_against(lesson: Lesson, others: list[Lesson], problems: Problems) -> None:
    """Note an order or idea that another lesson has already."""
    for other in others:
        if other.order == lesson.order:
            what = f"{quote(other.id)} has the place {lesson.order} of the course too"
            problems.add(lesson.mark, "order", what, "give each lesson a place of its own")
        if other.idea == lesson.idea:
            what = f"{quote(other.id)} is about {quote(lesson.idea)} too"
            problems.add(lesson.mark, "idea", what, "give each lesson an idea of its own, or join the two")


def _lesson(root: Node, cautions: Collection[str], problems: Problems) -> Lesson | None:
    before = len(problems)
    fields = mapping_fields(root, (), _REQUIRED, problems)
    name, title, idea, text, caution = (
        text_of(fields.get(key), problems) or "" for key in ("lesson", "title", "idea", "text", "caution")
    )
    order = whole_of(fields.get("order"), problems, low=1, high=999)
    if "text" in fields and len(text.split()) > MOST_WORDS:
        what = f"{len(text.split())} words, which nobody reads standing up"
        problems.add(fields["text"].mark, "long", what, f"say it in {MOST_WORDS} words")
    if caution and caution not in cautions:
        what = f"no caution {quote(caution)}"
        problems.add(fields["caution"].mark, "unknown-caution", what, suggestion(caution, sorted(cautions)))
    worked = _worked(fields.get("worked"), problems)
    sources = tuple(_sources(fields.get("sources"), problems))
    drills = tuple(_drills(fields.get("drills"), problems))
    for field, given in (("sources", sources), ("drills", drills)):
        if field in fields and not given and len(problems) == before:
            problems.add(fields[field].mark, "empty", f"no {field} are given", "give at least one")
    if worked is None or order is None or len(problems) > before:
        return None
    return Lesson(
        id=name,
        order=order,
        title=title,
        idea=idea,
        text=text,
        worked=worked,
        caution=caution,
        sources=sources,
        drills=drills,
        mark=root.mark,
    )


def _sources(node: Node | None, problems: Problems) -> Iterator[LessonSource]:
    for item in items_of(node, problems):
        fields = mapping_fields(item, (), ("source", "status"), problems)
        text = text_of(fields.get("source"), problems)
        status = choice_of(fields.get("status"), Status, problems)
        if text is not None and status is not None:
            yield LessonSource(text=text, status=status)


def _drills(node: Node | None, problems: Problems) -> Iterator[Drill]:
    for item in items_of(node, problems):
        fields = mapping_fields(item, ("at-once", "complaint"), ("boat", "faults"), problems)
        faults = texts_of(fields.get("faults"), problems)
        if "faults" in fields and not faults:
            problems.add(item.mark, "empty", "no fault to draw", 'name one, such as "fuse open"')
        yield Drill(
            boat=text_of(fields.get("boat"), problems) or "",
            faults=faults,
            at_once=whole_of(fields.get("at-once"), problems, low=1, high=MOST_AT_ONCE) or 1,
            complaint=text_of(fields.get("complaint"), problems) or "",
            mark=item.mark,
        )


def _worked(node: Node | None, problems: Problems) -> Worked | None:
    if node is None:
        return None
    fields = mapping_fields(node, (), ("boat", "numbers", "says"), problems)
    numbers = {
        key.text: _number(key, body, problems) for key, body in entries_of(fields.get("numbers"), problems)
    }
    says = text_of(fields.get("says"), problems) or ""
    if "says" in fields:
        _check_says(says, numbers, fields["says"].mark, problems)
    return Worked(
        boat=text_of(fields.get("boat"), problems) or "",
        numbers=MappingProxyType(numbers),
        says=says,
        mark=node.mark,
    )


def _check_says(says: str, numbers: Mapping[str, Number], mark: Mark, problems: Problems) -> None:
    """Note braces that name nothing, numbers that are not told, and numbers typed instead of worked out."""
    named = [name.removesuffix(".severity") for name in _BRACES.findall(says)]
    for name in sorted(set(named) - numbers.keys()):
        problems.add(mark, "unknown-number", f"no number {quote(name)}", suggestion(name, numbers))
    for name in sorted(numbers.keys() - set(named)):
        what = f"the number {quote(name)} is not told"
        problems.add(numbers[name].mark, "unused-number", what, f'put "{{{name}}}" where it belongs')
    if re.search(r"\d", _BRACES.sub("", says)):
        what = "a typed number in the example"
        problems.add(mark, "typed-number", what, "let it be worked out: name it in braces")


def _number(key: Scalar, body: Node, problems: Problems) -> Number:
    fields = mapping_fields(
        body, (*_WHAT, "red", "black", "base", "set", "fault", "severity", "besides"), ("expect",), problems
    )
    given = [name for name in _WHAT if name in fields]
    if len(given) != 1:
        what = f"{quote(key.text)} has {'no' if not given else 'more than one'} thing to measure"
        problems.add(key.mark, "number", what, f"give one of: {', '.join(_WHAT)}")
    settings = {
        name.text: quantity.value
        for name, value in entries_of(fields.get("set"), problems)
        if (quantity := quantity_of(value, Unit.RATIO, problems, low=-1.0, high=1.0)) is not None
    }
    expect = fields.get("expect")
    wanted = text_of(expect, problems) if given == ["sign"] else None
    return Number(
        name=key.text,
        what=_what(key, given[0] if given else "", fields, problems),
        base=choice_of(fields.get("base"), Base, problems) or Base.READY,
        set=MappingProxyType(settings),
        fault=text_of(fields.get("fault"), problems) or "",
        severity=text_of(fields.get("severity"), problems) or "",
        besides=text_of(fields.get("besides"), problems) or "",
        expect=((wanted or "",) if given == ["sign"] else _limits(expect, problems)),
        mark=key.mark,
    )


def _limits(node: Node | None, problems: Problems) -> tuple[str, ...]:
    before = len(problems)
    limits = texts_of(node, problems)
    if node is not None and len(problems) == before and len(limits) != 2:
        problems.add(node.mark, "number", "not two limits", 'write "[lowest, highest]"')
    return limits


def _what(
    key: Scalar, given: str, fields: Mapping[str, Node], problems: Problems
) -> Reading | Current | Value | Look:
    if given == "read":
        for probe in ("red", "black"):
            if probe not in fields:
                what = f"no place for the {probe} probe"
                problems.add(key.mark, "missing-key", what, f'add "{probe}: …"')
        return Reading(
            function=MeterFunction(choice_of(fields["read"], _READ, problems) or MeterFunction.DC_VOLTS),
            red=text_of(fields.get("red"), problems) or "",
            black=text_of(fields.get("black"), problems) or "",
        )
    of = text_of(fields.get(given), problems) or ""
    if given == "amps":
        return Current(of=of)
    return Value(of=of) if given == "value" else Look(of=of)
