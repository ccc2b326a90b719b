"""Hand-made questions for the tests of the screen."""

from assistant.circuit import BoatState, Measurement, MeterFunction
from assistant.circuit.expectation import Band, BandName
from assistant.console import Page
from assistant.console.page import ASCII, LINES
from assistant.diagnosis.model import SignQuery
from assistant.dialogue import Ask, Change, Option, StripPoint, StripRead, Want
from assistant.wiring import Point

READY = BoatState.of({"pack.plugged": 1, "switch.closed": 1, "throttle": 1})
NAMES = ["pack +", "fuse in", "fuse out", "switch in", "switch out", "drive +", "drive A", "pump +", "pump -"]
WAY = [Point(part=name.split()[0], terminal=name.split()[1]) for name in NAMES]
DOUBTS = [0.01, 0.02, 0.55, 0.03, 0.2, 0.06, 0.001, 0.05, 0.0]
READ = {
    0: StripRead(volts=7.9, standing=BandName.AS_EXPECTED, here=True),
    3: StripRead(volts=0.02, standing=BandName.NONE, here=True),
}
SUSPECTS = (
    ("fuse", 0.55),
    ("switch", 0.2),
    ("plug at drive +", 0.06),
    ("pump", 0.05),
    ("lead from switch out to drive +", 0.03),
    ("crimp at fuse in", 0.02),
    ("pack", 0.01),
)


def band(typical: float) -> Band:
    return Band(typical=typical, low=typical - 0.4, high=typical + 0.4)


STRIP = tuple(
    StripPoint(
        point=point,
        label=name,
        expected=band(7.8),
        read=READ.get(number),
        drop=None,
        suspicion=DOUBTS[number],
    )
    for number, (name, point) in enumerate(zip(NAMES, WAY, strict=True))
)
READING = Ask(
    id="n03.supply",
    text="How many volts reach the drive?",
    want=Want.READING,
    measurement=Measurement(
        function=MeterFunction.DC_VOLTS, red=WAY[5], black=Point(part="drive", terminal="-"), state=READY
    ),
    band=band(7.8),
    state=READY,
    changes=(
        Change(setting="switch.closed", value=1.0, text="switch: on"),
        Change(setting="throttle", value=1.0, text="throttle stick: fully forward"),
    ),
    why="It halves what is left.",
    how="Touch the screw heads.",
    strip=STRIP,
    suspects=SUSPECTS,
    others=(3, 0.08),
)
SIGN = Ask(
    id="n01.look",
    text="How does the pump turn?",
    want=Want.CHOICE,
    options=(
        Option(key="still", text="it does not turn"),
        Option(key="weakly", text="it turns weakly"),
        Option(key="runs", text="it runs as it should"),
    ),
    default="still",
    query=SignQuery(part="pump", sign="turning", state=READY),
    state=READY,
    strip=STRIP,
    suspects=SUSPECTS,
    others=(3, 0.08),
)
CONFIRM = Ask(id="safe", text="Boat held, intakes clear, transmitter on first?", want=Want.CONFIRM)


def name_of(point: Point) -> str:
    return f"{point.part} {point.terminal}"


def page(width: int, rows: int = 24, *, plain: bool = False, ascii_only: bool = False) -> Page:
    return Page(width=width, rows=rows, glyphs=ASCII if ascii_only else LINES, plain=plain)
