import re
from functools import cache

from tests.whole_case import FILE, whole_case

told_once = cache(whole_case)


def test_the_whole_case_is_what_the_program_says_now_and_the_readme_leads_there() -> None:
    told = told_once()
    assert FILE.read_text(encoding="utf-8") == told, "write it anew: python -m tests.whole_case"
    assert "(cases/recorded/whole-case.md)" in (FILE.parents[2] / "README.md").read_text(encoding="utf-8")


def test_it_leads_from_the_first_question_to_a_sheet_of_a_mended_boat() -> None:
    questions, _, sheet = told_once().partition("\n---\n")
    numbers = [int(number) for number in re.findall(r"^(\d+)\. ", questions, re.MULTILINE)]
    assert numbers == list(range(1, len(numbers) + 1))
    assert len(numbers) > 10
    assert "**Mended and proved" in sheet
    assert "Caution" in questions
