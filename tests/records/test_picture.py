import xml.etree.ElementTree as ET
from collections.abc import Iterator
from itertools import pairwise

import pytest

from assistant.records.picture import Mark, Tag, draw
from assistant.wiring import Point, described_parts, label_of
from tests.records.examples import boat

SVG = "{http://www.w3.org/2000/svg}"
POINTS = [
    Point(part="fuse", terminal="out"),
    Point(part="fuse.out--switch.in", terminal="2"),
    Point(part="receiver", terminal="3+"),
    Point(part="pump", terminal="-"),
]


def picture(name: str = "dabchick", marks: tuple[Mark, ...] = (), tags: tuple[Tag, ...] = ()) -> ET.Element:
    return ET.fromstring(draw(boat(name), marks, tags))  # noqa: S314 - our own output


def words(root: ET.Element) -> str:
    return " | ".join(text.text or "" for text in root.iter(f"{SVG}text"))


def numbers(element: ET.Element, *names: str) -> Iterator[float]:
    return (float(element.attrib[name]) for name in names)


@pytest.mark.parametrize("name", ["dabchick", "grebe"])
def test_every_part_is_named_and_nothing_leaves_the_frame(name: str) -> None:
    root = picture(name, (Mark(letter="A", place="receiver", words="dead"),))
    for part in described_parts(boat(name)):
        assert label_of(boat(name), part) in words(root)
    _, _, width, height = map(float, root.attrib["viewBox"].split())
    for rect in root.iter(f"{SVG}rect"):
        x, y, wide, high = numbers(rect, "x", "y", "width", "height")
        assert x >= 0.0
        assert y >= 0.0
        assert x + wide <= width
        assert y + high <= height
    for text in root.iter(f"{SVG}text"):
        x, y, size = numbers(text, "x", "y", "font-size")
        assert 0.0 <= x <= width
        assert size <= y <= height


def test_every_reading_is_written_with_how_it_stands() -> None:
    tags = tuple(
        Tag(point=point, text=f"#{n} {n} V ok", off=n == 2) for n, point in enumerate(POINTS, start=1)
    )
    root = picture(tags=tags)
    found = words(root)
    assert "#1 1 V ok |" in found
    assert "#2 2 V ok, wire end" in found
    assert "#3 3 V ok, 3+" in found
    assert "#4 4 V ok" in found
    boxes = [rect for rect in root.iter(f"{SVG}rect") if rect.attrib["rx"] == "2"]
    assert [rect.attrib["fill"] == "#111111" for rect in boxes].count(True) == 1
    assert len(boxes) == 4


def test_readings_on_both_edges_do_not_overlap() -> None:
    points = [Point(part="drive", terminal=name) for name in ("+", "-", "-", "A", "B")]
    tags = [
        Tag(
            point=point,
            black=Point(part="pack.---drive.-", terminal="2"),
            text=f"#{n} -45.4 mV reversed",
            off=True,
        )
        for n, point in enumerate(points, start=10)
    ]
    boxes = [r for r in picture(tags=tuple(tags)).iter(f"{SVG}rect") if r.attrib["rx"] == "2"]
    spans = sorted((y, x, x + wide) for x, y, wide in (tuple(numbers(r, "x", "y", "width")) for r in boxes))
    assert len(spans) == len(points)
    for (y, _, end), (other_y, start, _) in pairwise(spans):
        assert other_y > y + 11.0 or start >= end


def test_a_drop_says_between_what_it_was_read() -> None:
    out, wire = POINTS[:2]
    near = Point(part="fuse.out--switch.in", terminal="1")
    tags = [
        Tag(point=out, black=near, text="#1 7 V high", off=True),
        Tag(point=out, black=Point(part="fuse", terminal="in"), text="#2 7 V high", off=True),
        Tag(point=wire, black=Point(part="drive", terminal="-"), text="#3 7 V ok", off=False),
    ]
    found = words(picture(tags=tuple(tags)))
    assert "#1 7 V high across joint |" in found
    assert "#2 7 V high to in |" in found
    assert "#3 7 V ok, wire end to drive - |" in found


@pytest.mark.parametrize(
    "place",
    ["fuse", "fuse.out--switch.in", "fuse.out--switch.in@1", "receiver.2s--drive.s@2", "pack.---drive.-@2"],
)
def test_a_suspect_wears_a_diamond_with_its_letter(place: str) -> None:
    root = picture(marks=(Mark(letter="A", place=place, words="something here, 62 %"),))
    assert len(list(root.iter(f"{SVG}polygon"))) == 1
    assert "| A |" in words(root)
    assert "something here, 62 %" in words(root)


def test_a_suspect_part_has_a_double_frame() -> None:
    plain, marked = picture(), picture(marks=(Mark(letter="A", place="fuse", words="blown"),))
    assert len(list(marked.iter(f"{SVG}rect"))) == len(list(plain.iter(f"{SVG}rect"))) + 1


def test_two_suspects_at_one_terminal_do_not_hide_each_other() -> None:
    marks = tuple(Mark(letter=letter, place="fuse.out--switch.in@1", words=letter) for letter in "AB")
    spots = {polygon.attrib["points"] for polygon in picture(marks=marks).iter(f"{SVG}polygon")}
    assert len(spots) == 2


def test_lead_sizes_stand_at_their_lower_ends() -> None:
    assert words(picture()).count("14 AWG") == 4
    assert "26 AWG 30 cm" in words(picture())


def test_nothing_is_loaded_from_elsewhere_and_no_script_runs() -> None:
    text = draw(boat("grebe"))
    assert text.count("http") == 1  # the name of the form
    assert not {"script", "href", "style", "foreignObject"} & {
        e.tag.removeprefix(SVG) for e in picture().iter()
    }


def test_markup_in_words_stays_words() -> None:
    root = picture(marks=(Mark(letter="A", place="fuse", words="<script>alert(1)</script> & \x1b[2J"),))
    assert "<script>alert(1)</script> & [2J" in words(root).replace(" | ", " ")
    assert not list(root.iter(f"{SVG}script"))
