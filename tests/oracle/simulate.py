"""The independent simulator, guarded.

Left alone it drops what it cannot read and counts unknown names as 0, with no more than a line on fd 2.
"""

import os
import sys
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import Any

import neospice

from tests.oracle.netlist import Case, Netlist, netlist

TIGHT = {"reltol": 1e-9, "vntol": 1e-12, "abstol": 1e-15, "gmin": 1e-15, "itl1": 500}
# A diode that hangs on nothing but its leak never gets as steady as that.
LOOSE = {"reltol": 1e-6, "vntol": 1e-9, "abstol": 1e-12, "gmin": 1e-15, "itl1": 500}

# With the reference itself cut off, whole boats hang on leaks of a gigaohm.
LOOSER = {"reltol": 1e-4, "vntol": 1e-6, "abstol": 1e-9, "gmin": 1e-15, "itl1": 500}


class NoAnswerError(Exception):
    """The simulator found no operating point."""


@contextmanager
def warnings_refused() -> Iterator[None]:
    """Catch what the simulator writes to fd 2, and raise when it warns of a name or expression it does not know."""
    sys.stderr.flush()
    kept = os.dup(2)
    with tempfile.TemporaryFile() as caught:
        os.dup2(caught.fileno(), 2)
        try:
            yield
        finally:
            os.dup2(kept, 2)
            os.close(kept)
            caught.seek(0)
            told = caught.read().decode(errors="replace")
    warned = [line for line in told.splitlines() if "Warning:" in line or "ERROR" in line]
    if warned:
        raise ValueError(f"the simulator warned {len(warned)} times, first: {warned[0]}")


def simulate(case: Case, guess: Sequence[float] | None = None) -> list[float]:
    """Return the voltages of all nodes, the reference last.

    Parameters
    ----------
    guess
        Voltages to start the simulator's own iteration from; without it, it starts cold.

    Raises
    ------
    NoAnswerError
        When the simulator does not converge, or no set of idle regulators is consistent.
    """
    for options in (TIGHT, LOOSE):
        try:
            return _simulate(case, guess, options)
        except NoAnswerError:
            continue
    return _simulate(case, guess, LOOSER)


def _simulate(case: Case, guess: Sequence[float] | None, options: Mapping[str, float]) -> list[float]:
    idle: frozenset[str] = frozenset()
    tried: set[frozenset[str]] = set()
    while idle not in tried:
        tried.add(idle)
        built = netlist(case, idle)
        result = _run(built, guess, options)
        wishes = {w: float(result.voltage(w)) for w in built.wishes}
        wrong = {w for w, wish in wishes.items() if (wish < 0.0) is not (w in idle)}
        if not wrong:
            return [float(result.voltage(f"n{n}")) for n in range(len(case.network.nodes) - 1)] + [0.0]
        idle ^= {max(wrong, key=lambda w: abs(wishes[w]))}
    raise NoAnswerError("regulators go on and off for ever")


def _run(built: Netlist, guess: Sequence[float] | None, options: Mapping[str, float]) -> Any:
    cards = list(built.cards)
    if guess is not None:
        cards.append(".nodeset " + " ".join(f"v(n{n})={v!r}" for n, v in enumerate(guess[:-1])))
    simulator = neospice.Simulator()
    circuit = simulator.parse("\n".join(["boat", *built.lines, *cards, ".op", ".end", ""]))
    written = sorted(line.split(maxsplit=1)[0].lower() for line in built.lines)
    if sorted(name.lower() for name in circuit.device_names()) != written:
        raise ValueError("the simulator dropped an element")
    for name, value in options.items():
        setattr(circuit.options, name, value)
    try:
        result = simulator.run_dc(circuit)
        result.status.convergence_method  # noqa: B018  raises ValueError where the system was singular
    except (RuntimeError, ValueError) as error:
        raise NoAnswerError(str(error)) from error
    return result
