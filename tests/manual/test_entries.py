"""What there is, found by what people type."""

import pytest

from assistant.errors import AnswerError
from assistant.manual import Sort, entries_of, explain, find_entry
from tests.manual.samples import book


def test_every_entry_is_found_by_its_id_and_can_be_explained() -> None:
    entries = list(entries_of(book()))
    assert {entry.sort for entry in entries} == set(Sort)
    for entry in entries:
        if entry.sort is not Sort.WORD or entry.id not in book().catalogue.kinds:
            assert find_entry(book(), entry.id) == entry
        lines = list(explain(book(), entry))
        assert len(lines) > 1, entry
        assert not any("{" in text or "Expression" in text for _, text in lines), entry


def test_ids_are_told_apart_across_sorts() -> None:
    kinds = book().catalogue.kinds
    told = [one for one in entries_of(book()) if one.sort is not Sort.WORD or one.id not in kinds]
    ids = [entry.id.replace(" ", "-") for entry in told]
    assert len(ids) == len(set(ids))


def test_a_word_that_is_a_part_kind_too_is_explained_with_the_kind() -> None:
    entry = find_entry(book(), "relay")
    assert entry.sort is Sort.PART
    assert ("In plain words: ", f"{book().knowledge.terms['relay'].means}.") in list(explain(book(), entry))


@pytest.mark.parametrize(
    ("typed", "id"), [("Blade Fuse", "blade fuse"), ("blade-fuse", "blade fuse"), ("volt-dr", "volt-drop")]
)
def test_spelling_is_forgiven(typed: str, id: str) -> None:  # noqa: A002 - the field of an entry is called so
    assert find_entry(book(), typed).id == id


@pytest.mark.parametrize(
    ("typed", "reason"),
    [
        ("relay-", "more than one"),
        ("bladefuse", "did you mean"),
        ("xyzzy", "knowledge list"),
        ("", "no such entry"),
    ],
)
def test_what_is_not_there_is_told_with_a_way_on(typed: str, reason: str) -> None:
    with pytest.raises(AnswerError, match=reason):
        find_entry(book(), typed)


def test_a_part_kind_is_told_with_values_faults_and_signs() -> None:
    lines = {first.strip(): text for first, text in explain(book(), find_entry(book(), "blade fuse"))}
    assert lines["rating_a:"].startswith("rated current, must be given, at least 1 A, at most 120 A")
    assert "[from memory]" in lines["link_ohm:"]
    assert "60 % of its faults; cured by: replace" in lines["open:"].replace("60%", "60 %")
    assert "by 50 mΩ to 100 Ω" in lines["corroded:"]
    assert "only ever follows" in lines["blown:"]
    assert "the strip is broken or black" in lines["strip:"]


def test_a_lesson_is_told_with_computed_numbers() -> None:
    text = "\n".join(text for _, text in explain(book(), find_entry(book(), "volt-drop")))
    assert "has 500 mΩ too much" in text
