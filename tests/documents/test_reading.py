"""From nodes to values: every problem is noted, once, and reading goes on."""

from enum import StrEnum

import pytest

from assistant.documents import (
    Mapping,
    Node,
    Problems,
    choice_of,
    entries_of,
    flag_of,
    items_of,
    mapping_fields,
    parse_document,
    quantity_of,
    suggestion,
    text_of,
    texts_of,
    whole_of,
)
from assistant.errors import WiringError
from assistant.quantities import OVERLOAD, Unit


class Reach(StrEnum):
    OPEN = "open"
    BEHIND_COVER = "behind cover"


def value(text: str) -> Node:
    """Return the node of a value written after a key."""
    node = parse_document(f"key: {text}\n", "f")
    assert isinstance(node, Mapping)
    return node.items[0][1]


def lines(problems: Problems) -> list[str]:
    return [str(problem) for problem in problems]


@pytest.fixture
def problems() -> Problems:
    return Problems()


def test_fields(problems: Problems) -> None:
    node = parse_document("kind: fuse\nrating: 15 A\n", "f")
    fields = mapping_fields(node, ["rating", "reach"], ["kind"], problems)
    assert list(fields) == ["kind", "rating"]
    assert text_of(fields["rating"], problems) == "15 A"
    assert not problems


def test_unknown_and_missing_fields_are_told_together(problems: Problems) -> None:
    node = parse_document("ratting: 15 A\nzzz: 1\n", "f")
    assert mapping_fields(node, ["rating"], ["kind"], problems) == {}
    assert lines(problems) == [
        'f:1:1  [missing-key]  the field "kind" is missing; add "kind: …"',
        'f:1:1  [unknown-key]  unknown field "ratting"; did you mean "rating"?',
        'f:2:1  [unknown-key]  unknown field "zzz"; use one of: kind, rating',
    ]


def test_fields_of_what_is_no_mapping(problems: Problems) -> None:
    assert mapping_fields(value("[a]"), ["b"], ["c"], problems) == {}
    assert lines(problems) == ['f:1:6  [wrong-kind]  found a list; write fields as "name: value"']


def test_no_node_gives_no_value_and_no_problem(problems: Problems) -> None:
    assert mapping_fields(None, ["a"], ["b"], problems) == {}
    for plural in (entries_of, items_of, texts_of):
        assert plural(None, problems) == ()
    for single in (text_of, flag_of, whole_of):
        assert single(None, problems) is None
    assert quantity_of(None, Unit.VOLT, problems) is None
    assert choice_of(None, Reach, problems) is None
    assert not problems


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("[a]", "[wrong-kind]  found a list; write a single text"),
        ("{a: b}", "[wrong-kind]  found a group of fields; write a single text"),
        ("", "[empty]  nothing is written here; write the text, or remove the field"),
        ("' '", "[empty]  nothing is written here; write the text, or remove the field"),
    ],
)
def test_no_text(text: str, problem: str, problems: Problems) -> None:
    assert text_of(value(text), problems) is None
    assert [line.split("  ", 1)[1] for line in lines(problems)] == [problem]


def test_lists_of_texts_keep_what_is_right(problems: Problems) -> None:
    assert texts_of(value("[a, [b], c]"), problems) == ("a", "c")
    assert lines(problems) == ["f:1:10  [wrong-kind]  found a list; write a single text"]


def test_a_text_is_no_list(problems: Problems) -> None:
    assert texts_of(value("a"), problems) == ()
    assert lines(problems) == ['f:1:6  [wrong-kind]  found the text "a"; write a list, such as [one, two]']


def test_nothing_is_no_list(problems: Problems) -> None:
    assert items_of(value(""), problems) == ()
    assert "found nothing" in lines(problems)[0]


def test_quantities(problems: Problems) -> None:
    quantity = quantity_of(value("1500 mV"), Unit.VOLT, problems, low=0, high=20)
    assert quantity is not None
    assert (quantity.value, quantity.unit) == (1.5, Unit.VOLT)
    overload = quantity_of(value("OL"), Unit.OHM, problems, allow_overload=True)
    assert overload is not None
    assert overload.value == OVERLOAD
    assert not problems


def test_quantities_that_are_none(problems: Problems) -> None:
    assert quantity_of(value("11 A"), Unit.VOLT, problems) is None
    assert quantity_of(value("30 V"), Unit.VOLT, problems, low=0, high=20) is None
    assert quantity_of(value("[1 V]"), Unit.VOLT, problems) is None
    mend = "check the number and its unit, and type a value from 0 V to 20 V"
    assert [line.split("  ", 1)[1] for line in lines(problems)] == [
        '[quantity]  "11 A": found amps (A), wanted volts (V); type it like 11.1 V',
        f'[quantity]  "30 V": 30 V is more than 20 V; {mend}',
        "[wrong-kind]  found a list; write a single text",
    ]


def test_whole_numbers(problems: Problems) -> None:
    assert whole_of(value("6"), problems, low=1, high=12) == 6
    assert whole_of(value("6.0"), problems) == 6
    assert not problems
    assert whole_of(value("6.5"), problems) is None
    assert whole_of(value("13"), problems, high=12) is None
    assert whole_of(value("6 V"), problems) is None
    assert len(problems) == 3


def test_choices_give_members_or_names(problems: Problems) -> None:
    member: Reach | None = choice_of(value("behind cover"), Reach, problems)
    assert member is Reach.BEHIND_COVER
    assert choice_of(value("b"), ["a", "b"], problems) == "b"
    assert not problems


@pytest.mark.parametrize(
    ("text", "mend"),
    [
        ("behind cver", 'did you mean "behind cover"?'),
        ("Open", 'did you mean "open"?'),
        ("qqq", "use one of: open, behind cover"),
    ],
)
def test_wrong_choices_are_told_the_right_ones(text: str, mend: str, problems: Problems) -> None:
    assert choice_of(value(text), Reach, problems) is None
    assert choice_of(value(text), list(Reach), problems) is None
    assert [problem.mend for problem in problems] == [mend, mend]


def test_flags_are_yes_and_no_alone(problems: Problems) -> None:
    assert flag_of(value("yes"), problems) is True
    assert flag_of(value("no"), problems) is False
    assert not problems
    for text in ("true", "off", "1", "Yes", "y"):
        assert flag_of(value(text), problems) is None
    assert [problem.code for problem in problems] == ["choice"] * 5


def test_long_lists_of_choices_are_cut() -> None:
    names = [f"part{number}" for number in range(20)]
    assert suggestion("zzz", names).endswith("part11 and 8 more")
    assert suggestion("zzz", []) == "remove it"


def test_raise_if_any(problems: Problems) -> None:
    problems.raise_if_any(WiringError)
    problems.add(value("x").mark, "part-unknown", "no such part", "name a part")
    problems.extend(list(problems))
    with pytest.raises(WiringError) as caught:
        problems.raise_if_any(WiringError)
    assert [str(problem) for problem in caught.value.problems] == [
        "f:1:6  [part-unknown]  no such part; name a part"
    ] * 2
