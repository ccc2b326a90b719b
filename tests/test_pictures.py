import re

from tests.pictures import FOLDER, drawn

README = (FOLDER.parents[2] / "README.md").read_text(encoding="utf-8")


def test_the_pictures_are_what_the_program_draws_now_and_the_readme_shows_them() -> None:
    now = drawn()
    assert {path.name for path in FOLDER.iterdir()} == now.keys()
    stale = [name for name, svg in now.items() if (FOLDER / name).read_text(encoding="utf-8") != svg]
    assert stale == [], "draw them anew: python -m tests.pictures"
    assert [name for name in now if f"(cases/recorded/pictures/{name})" not in README] == []


def test_a_picture_asks_nothing_of_the_network_and_runs_nothing() -> None:
    for svg in drawn().values():
        assert "red" in svg
        assert "suspects" in svg
        assert set(re.findall(r"https?://[^\s\"']+", svg)) == {"http://www.w3.org/2000/svg"}
        assert "<script" not in svg
        assert "@font-face" not in svg
