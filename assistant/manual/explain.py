"""One entry of the knowledge explained in words, as paragraphs with what stands before them."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from types import MappingProxyType

from assistant.catalogue import FaultSpec, Kind, Source, ValueSpec, source_behind
from assistant.dialogue import SymptomGraph, longest_way
from assistant.lessons import bench_of, lesson_lines, work_out
from assistant.manual.book import Book
from assistant.manual.entries import Entry, Sort
from assistant.manual.outline import Line, outline
from assistant.quantities import show

STATUS: Mapping[str, str] = MappingProxyType(
    {"s": "seen", "m": "from memory", "c": "computed", "p": "common practice"}
)
"""What the letters behind sources mean."""


def explain(book: Book, entry: Entry) -> Iterator[Line]:
    """Yield the paragraphs that explain an entry.

    Raises
    ------
    LeadlineError
        If the example of a lesson cannot be worked out.
    """
    return _EXPLAIN[entry.sort](book, entry.id)


def _symptom(book: Book, name: str) -> Iterator[Line]:
    graph = book.knowledge.symptoms[name]
    yield "", f"{graph.title} ({graph.id})"
    yield "", f"People say: {'; '.join(graph.says)}."
    for other in graph.confusions:
        use = f": that is {other.use}" if other.use else ""
        yield "Not this: ", f"{other.when}{use}."
    yield "", f"Roles: {', '.join(_roles(graph))}."
    longest = len(longest_way(graph))
    yield "", f"{len(graph.nodes)} steps; the longest way through passes {longest}."
    yield "", ""
    yield from outline(graph)
    yield "", ""
    yield "Source: ", graph.source


def _roles(graph: SymptomGraph) -> Iterator[str]:
    for role in graph.roles.values():
        notes = [f"feeds {role.feeds}" if role.feeds else "", "optional" if role.optional else ""]
        words = "; ".join(note for note in (f"a {role.group}", *notes) if note)
        yield f"{role.name} ({words})"


def _part(book: Book, name: str) -> Iterator[Line]:
    kind = book.catalogue.kinds[name]
    yield "", f"{kind.name} ({kind.group}): {kind.about}"
    if kind.name in book.knowledge.terms:
        yield "In plain words: ", f"{book.knowledge.terms[kind.name].means}."
    yield "How to touch it: ", kind.probe
    for caution in kind.cautions:
        yield "! ", book.knowledge.cautions[caution].text if caution in book.knowledge.cautions else caution
    yield "", ""
    yield "", "Terminals"
    for terminal in kind.terminals.values():
        yield f"  {terminal.name}: ", f"{terminal.about} ({terminal.side}, {terminal.reach})"
    sections = (("Values", _values), ("Settings", _settings), ("Faults", _faults), ("Signs", _signs))
    for title, paragraphs in sections:
        lines = list(paragraphs(kind))
        if lines:
            yield "", ""
            yield "", title
            yield from lines
    yield "", ""
    yield "Weight among all parts: ", f"{kind.weight:g}; {_cited(kind.weight_source)}"


def _values(kind: Kind) -> Iterator[Line]:
    for value in kind.values.values():
        yield f"  {value.name}: ", f"{value.about}, {_default(value)}; {_cited(value.source)}"


def _default(value: ValueSpec) -> str:
    default = value.default
    if default is None:
        words = "must be given"
    elif value.choices:
        nominal = float(default({}))
        words = next((word for word, number in value.choices.items() if number == nominal), default.text)
        words = f"{words} unless given ({' or '.join(value.choices)})"
    elif default.names or default.curves:
        words = f"{default.text} unless given, in {value.unit}"
    else:
        words = f"{show(float(default({})), value.unit)} unless given"
    limits = [
        f"{word} {show(limit, value.unit)}"
        for word, limit in (("at least", value.low), ("at most", value.high))
        if limit is not None
    ]
    spread = [f"± {value.tolerance:.0%}"] if value.tolerance else []
    spread += [f"± {show(value.spread, value.unit)}"] if value.spread else []
    return ", ".join((words, *spread, *limits))


def _settings(kind: Kind) -> Iterator[Line]:
    for setting in kind.settings.values():
        yield f"  {setting.name}: ", f"{setting.about}: {setting.off_word} or {setting.on_word}"


def _faults(kind: Kind) -> Iterator[Line]:
    for fault in sorted(kind.faults.values(), key=lambda one: -one.share):
        notes = "; ".join(note for note in _fault_notes(fault) if note)
        yield f"  {fault.name}: ", f"{fault.says}; {notes}. {fault.remedy} ({_cited(fault.source)})"


def _fault_notes(fault: FaultSpec) -> Iterator[str]:
    yield f"{fault.share:.0%} of its faults" if fault.follows is None else "only ever follows another fault"
    if fault.severity is not None:
        low, high = (show(limit, fault.severity.unit) for limit in (fault.severity.low, fault.severity.high))
        yield f"by {low} to {high}"
    if fault.intermittent:
        yield "comes and goes"
    yield f"cured by: {fault.action}"


def _signs(kind: Kind) -> Iterator[Line]:
    for sign in kind.signs.values():
        levels = "; ".join(f"{level} ({words})" for level, words in sign.words.items())
        asked = sign.ask.replace("{part}", f"the {kind.name}")
        yield f"  {sign.name}: ", f"{asked} {levels}. ({_cited(sign.source)})"


def _lesson(book: Book, name: str) -> Iterator[Line]:
    lesson = book.knowledge.lessons[name]
    results = work_out(lesson.worked, bench_of(lesson.worked, book.catalogue, book.boats))
    for text in lesson_lines(lesson, results, book.knowledge.cautions[lesson.caution].text):
        yield "", text
    yield "", ""
    for source in lesson.sources:
        yield "Source: ", f"{source.text} [{STATUS[source.status]}]"
    for drill in lesson.drills:
        count = "one" if drill.at_once == 1 else str(drill.at_once)
        yield "To practise: ", f"{drill.boat} with {count} of: {', '.join(drill.faults)}"


def _caution(book: Book, name: str) -> Iterator[Line]:
    caution = book.knowledge.cautions[name]
    yield "! ", caution.text
    yield "Why: ", caution.why
    if caution.on:
        yield "Told on: ", ", ".join(map(str, caution.on))
    if caution.confirm:
        yield "", "It has to be agreed to before the step."
    if caution.unplugged:
        yield "", "The step cannot be reached with a pack plugged in."
    yield "Source: ", caution.source
    known = source_behind(caution.source, book.sources)
    if known is not None:
        yield "That is: ", known.reference


def _word(book: Book, name: str) -> Iterator[Line]:
    term = book.knowledge.terms[name]
    yield "", f"{term.word}: {term.means}."
    yield "", "The answer to how explains it wherever a question uses it."


def _source(book: Book, name: str) -> Iterator[Line]:
    source = book.sources[name]
    yield "", f"{source.reference} ({source.kind})"
    for text in source.cited:
        yield "Cited as: ", text


def _cited(source: Source) -> str:
    return f"{source.text} [{STATUS[source.status]}]"


_EXPLAIN: Mapping[Sort, Callable[[Book, str], Iterator[Line]]] = MappingProxyType(
    {
        Sort.SYMPTOM: _symptom,
        Sort.PART: _part,
        Sort.LESSON: _lesson,
        Sort.CAUTION: _caution,
        Sort.WORD: _word,
        Sort.SOURCE: _source,
    }
)
