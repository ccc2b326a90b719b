"""Random circuits for properties: a handful of nets with sources, resistors and whatever else between them."""

from collections.abc import Mapping

from hypothesis import strategies as st

from tests.support.bench import GROUND, Item, diode, draw, resistor, source

NETS = (GROUND, "a", "b", "c", "d")
PAIRS = st.lists(st.sampled_from(NETS), min_size=2, max_size=2, unique=True)


def ohms(low: float, high: float) -> st.SearchStrategy[float]:
    """Return resistances spread over decades."""
    return st.floats(0.0, 1.0).map(lambda share: float(low * (high / low) ** share))


resistors = st.builds(lambda ends, ohm: resistor(ends[0], ends[1], ohm), PAIRS, ohms(0.01, 1e5))
sources = st.builds(
    lambda ends, volts, ohm: source(ends[0], ends[1], volts, ohm),
    PAIRS,
    st.integers(-1500, 1500).map(lambda hundredths: hundredths / 100),
    ohms(0.01, 100.0),
)
diodes = st.builds(
    lambda ends, volts, amps: diode(ends[0], ends[1], volts, amps, 0.045),
    PAIRS,
    st.floats(0.3, 1.0),
    ohms(0.01, 10.0),
)
draws = st.builds(lambda ends, amps: draw(ends[0], ends[1], amps, 3.0), PAIRS, st.floats(0.01, 1.0))
motors = st.builds(
    lambda ends, amps: Item(
        kind="motor", values=f"rated: 7.2 V at {amps} A", nets={"+": ends[0], "-": ends[1]}
    ),
    PAIRS,
    st.floats(0.5, 10.0),
)


def named(items: list[Item]) -> Mapping[str, Item]:
    """Return items under names of their own."""
    return {f"part{number}": item for number, item in enumerate(items)}


def circuits(*others: st.SearchStrategy[Item]) -> st.SearchStrategy[Mapping[str, Item]]:
    """Return circuits of sources, resistors and `others`.

    Every net is tied to the reference by 1 kilohm: what hangs on its leaks alone has no level worth comparing, since
    1 GΩ against leads of a hundredth of a milliohm leaves few digits of it.
    """
    more = st.lists(st.one_of(resistors, *others), min_size=1, max_size=8)
    ties = [resistor(net, GROUND, 1e3) for net in NETS[1:]]
    return st.builds(lambda a, b: named([*a, *b, *ties]), st.lists(sources, min_size=1, max_size=3), more)
