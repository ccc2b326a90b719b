"""The picture of a graph: nothing lies on anything else, everything is there, and text stays text."""

from dataclasses import replace
from itertools import combinations, pairwise
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.dialogue.graph import ConfirmNode
from assistant.manual import layout_of, outline, svg
from assistant.manual.drawing import safe
from assistant.manual.layers import ranks_of
from tests.dialogue.samples import changed
from tests.manual.samples import book, graph

SVG = "{http://www.w3.org/2000/svg}"
NAMES = sorted(book().knowledge.symptoms)
BOX, SLOT, GAP = 100.0, 10.0, 8.0


@pytest.mark.parametrize("name", NAMES)
def test_neighbours_keep_their_distance(name: str) -> None:
    layout = layout_of(book().knowledge.symptoms[name], box=BOX, slot=SLOT, gap=GAP)
    for level in layout.ranks:
        for left, right in pairwise(level):
            half = sum(BOX / 2 if isinstance(key, str) else SLOT / 2 for key in (left, right))
            assert layout.centre[right] - layout.centre[left] >= half + GAP - 1e-6


@pytest.mark.parametrize("name", NAMES)
def test_ways_lead_down_unless_they_close_a_circle(name: str) -> None:
    one = book().knowledge.symptoms[name]
    rank, layout = ranks_of(one), layout_of(one, box=BOX, slot=SLOT, gap=GAP)
    assert rank[one.start] == 0
    for source, target in layout.ways:
        assert (rank[source] < rank[target]) is ((source, target) not in layout.back)


@pytest.mark.parametrize("name", NAMES)
def test_boxes_never_overlap_and_every_node_and_way_is_drawn(name: str) -> None:
    one = book().knowledge.symptoms[name]
    root = ET.fromstring(svg(one))  # noqa: S314 - our own text
    boxes = []
    for box in root.iter(f"{SVG}rect"):
        if "box" in box.get("class", ""):
            x, y, wide, high = (float(box.attrib[key]) for key in ("x", "y", "width", "height"))
            boxes.append((x, y, x + wide, y + high))
    assert len(boxes) == len(one.nodes)
    for a, b in combinations(boxes, 2):
        assert a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
    width, height = float(root.attrib["width"]), float(root.attrib["height"])
    assert all(x >= 0 and y >= 0 and right <= width and low <= height for x, y, right, low in boxes)
    lines = [path for path in root.iter(f"{SVG}path") if "line" in path.get("class", "")]
    assert len(lines) == len({(n.id, t) for n in one.nodes.values() for t in n.links.values() if t != n.id})
    assert not any("://" in value for node in root.iter() for value in node.attrib.values())


def test_a_way_back_is_drawn_as_one() -> None:
    one = graph(changed("broken: {text: broken, then: narrow,", "broken: {text: broken, then: look,"))
    assert 'class="line back"' in svg(one)
    assert 'class="line back"' not in svg(graph())


def test_hostile_words_stay_words() -> None:
    bad = "<script>alert(1)</script> & ]]> \u202e \x1b[2J"
    one = graph()
    node = one.nodes["safe"]
    assert isinstance(node, ConfirmNode)
    picture = svg(replace(one, nodes={**one.nodes, "safe": replace(node, text=bad)}, title=bad))
    assert "\x1b" not in picture
    assert "\u202e" not in picture
    assert "<script" not in picture
    root = ET.fromstring(picture)  # noqa: S314 - our own text
    assert "<script>" in "".join(root.itertext())


@given(st.text())
@settings(max_examples=50)
def test_any_text_is_text_in_xml(text: str) -> None:
    read = ET.fromstring(f"<a>{safe(text)}</a>").text or ""  # noqa: S314 - our own text
    assert len(read) == len(text)


@pytest.mark.parametrize("name", NAMES)
def test_the_outline_has_every_node_once_and_every_way(name: str) -> None:
    one = book().knowledge.symptoms[name]
    lines = list(outline(one))
    steps = [text.split(" (")[0] for first, text in lines if first.strip()]
    assert sorted(steps) == sorted(one.nodes)
    number = {text.split(" (")[0]: first.strip() for first, text in lines if first.strip()}
    present = ""
    told = set()
    for first, text in lines:
        if first.strip():
            present = text.split(" (")[0]
        else:
            links, _, target = text.partition(" > ")
            place, _, name_of = target.partition(" ")
            assert number[name_of] == place
            told |= {(present, link, name_of) for link in links.split(", ")}
    assert told == {(n.id, link, t) for n in one.nodes.values() for link, t in n.links.items()}
