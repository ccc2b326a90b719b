from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from assistant.catalogue import Action
from assistant.circuit import build_network
from assistant.diagnosis import Diagnosis, History, RepairId
from assistant.records import (
    CaseStore,
    Closing,
    Header,
    Remark,
    RemarkKind,
    log_html,
    log_of,
    log_text,
    past_repairs,
    search,
)
from tests.records.examples import boat

AT = "2025-06-20T18:00:00+02:00"
FUSE = RepairId(place="fuse", action=Action.REPLACE)
PLUG = RepairId(place="pack.+--fuse.in@1", action=Action.REMAKE)


def kept(
    store: CaseStore,
    header: Header,
    closing: Closing | None,
    remarks: Sequence[Remark] = (),
    boat: str = "Dabchick",
) -> str:
    name, journal = store.begin(replace(header, boat=boat))
    with journal:
        journal.append({"ask": "n00.danger", "answer": "Yes indeed", "at": AT})
        if closing is not None:
            journal.finish(closing)
        for remark in remarks:
            journal.remark(remark)
    return name


def closing(outcome: str, done: tuple[str, ...] = (), left: tuple[str, ...] = ()) -> Closing:
    return Closing(outcome=outcome, text="; ".join((*done, *left)), at=AT, done=done, left=left)


def mended(place: str) -> Remark:
    return Remark(kind=RemarkKind.MENDED, text="done", place=place, at=AT)


def filled(folder: Path, header: Header) -> CaseStore:
    store = CaseStore(folder)
    kept(store, header, closing("mended", (str(FUSE),)))
    kept(store, header, closing("mended", (str(FUSE),)))
    kept(store, header, closing("noted", left=(str(PLUG), str(FUSE))), [mended(PLUG.place)])
    kept(store, header, closing("noted", (str(PLUG),)))  # made, never proved
    kept(store, header, None, [Remark(kind=RemarkKind.TEMPORARY, text="bridged", place="switch", at=AT)])
    kept(store, header, closing("mended", ("replace drive",)), boat="Grebe")
    return store


def test_only_proved_repairs_and_those_of_the_bench_count(tmp_path: Path, header: Header) -> None:
    cases = filled(tmp_path, header).summaries()
    assert past_repairs("dabchick", cases) == {FUSE: 2, PLUG: 1}
    assert past_repairs("Grebe", cases) == {RepairId(place="drive", action=Action.REPLACE): 1}
    assert past_repairs("Heron", cases) == {}


def test_earlier_repairs_raise_their_probability(tmp_path: Path, header: Header) -> None:
    network = build_network(boat("dabchick"))
    past = past_repairs("Dabchick", filled(tmp_path, header).summaries())
    chances = []
    for history in (History(), History(past=past)):
        diagnosis = Diagnosis(network, history=history)
        suspects = diagnosis.verdict(diagnosis.belief(()), None).suspects
        chances.append(next(one.probability for one in suspects if one.repair == FUSE))
    assert chances[1] > 1.5 * chances[0]


def test_the_log_shows_what_failed_again_and_what_was_replaced(tmp_path: Path, header: Header) -> None:
    log = log_of("dabchick", filled(tmp_path, header).summaries())
    assert log.boat == "Dabchick"
    assert [row.outcome for row in log.rows] == ["mended", "mended", "noted", "noted", "open"]
    assert log.repeated == (("fuse", 2),)
    assert log.replaced == (("fuse", "2025-06-14"), ("fuse", "2025-06-14"))
    assert log.makeshift == ("switch: bridged (2025-06-20, case dabchick-2025-06-14-5)",)
    text = "\n".join(log_text(log))
    assert "5 cases" in text
    assert "fuse: 2 times" in text
    page = log_html(log)
    assert page.count("<tr>") == 1 + len(log.rows)
    assert "<li>fuse: 2 times</li>" in page


def test_a_temporary_repair_that_was_undone_is_no_longer_in_the_log(tmp_path: Path, header: Header) -> None:
    store = CaseStore(tmp_path)
    remarks = [
        Remark(kind=kind, text="x", place="switch", at=AT)
        for kind in (RemarkKind.TEMPORARY, RemarkKind.UNDONE)
    ]
    kept(store, header, None, remarks)
    assert log_of("Dabchick", store.summaries()).makeshift == ()


def test_markup_in_a_log_stays_words(tmp_path: Path, header: Header) -> None:
    store = CaseStore(tmp_path)
    kept(store, header, Closing(outcome="<b>", text="<script>\x1b", at=AT), boat="<i>")
    page = log_html(log_of("<i>", store.summaries()))
    assert not any(bad in page for bad in ("<script", "<b>", "<i>", "\x1b"))


def test_search_wants_all_words_and_says_where(tmp_path: Path, header: Header) -> None:
    store = filled(tmp_path, header)
    (tmp_path / "broken.case.jsonl").write_text("{}\n")
    cases = store.summaries()
    assert {hit.case for hit in search(cases, ["BRIDGED"])} == {"dabchick-2025-06-14-5"}
    assert {hit.case for hit in search(cases, ["drive", "mended", "grebe"])} == {"grebe-2025-06-14-1"}
    assert list(search(cases, ["drive", "albatross"])) == []
    assert list(search(cases, [" "])) == []
    assert len(list(search(cases, ["indeed"]))) == 6
    (hit,) = search(cases, ["bridged"])
    assert hit.where == "temporary switch bridged"
