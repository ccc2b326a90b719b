"""Record the example cases anew: ``python -m tests.record_examples``.

Each is a hunt on a virtual boat with one hidden fault, kept exactly as the program keeps a case.
"""

from pathlib import Path

from assistant.circuit import Fault
from assistant.cli.hunt import Beginning, begin_hunt
from assistant.cli.workbench import choose_boat, open_workbench, read_boat
from assistant.records import CaseStore
from assistant.wiring import load_boat
from tests.cli.person import METER, Person

FOLDER = Path(__file__).parent.parent / "cases" / "recorded"
NOW = "2025-06-14T09:30:00+02:00"
EXAMPLES = (
    ("dabchick", "pumps-not-running", Fault(part="fuse", mode="open")),
    ("grebe", "pumps-not-running", Fault(part="minus.x--port-drive.-@2", mode="open")),
)


def record(folder: Path) -> None:
    """Play every example and keep it in `folder`."""
    bench = open_workbench()
    for name, symptom, fault in EXAMPLES:
        person = Person(name, symptom, fault)
        found = choose_boat(name, Path("/nowhere"))
        boat = load_boat(read_boat(found), found.place, bench.catalogue)
        begun = Beginning(boat=boat, file=found.place, symptom=symptom, meter=METER, seed=None)
        hunt = begin_hunt(begun, bench=bench, store=CaseStore(folder), clock=lambda: NOW)
        while person.ask is not None:
            hunt.answer(person.answer())
        hunt.close()


if __name__ == "__main__":
    for old in FOLDER.glob("*.case.jsonl"):
        old.unlink()
    record(FOLDER)
