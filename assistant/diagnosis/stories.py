"""From a hypothesis at one severity to the faults that simulate it, and how bad its modes can be."""

from __future__ import annotations

import math

from assistant.catalogue import Severity
from assistant.circuit import Fault, Network
from assistant.diagnosis.model import Hypothesis, ModeAt


def faults_of(network: Network, hypothesis: Hypothesis, severity: float) -> tuple[Fault, ...]:
    """Return the faults of a hypothesis; `severity` is that of its first mode, the others are of middling severity."""
    first, rest = hypothesis.modes[:1], hypothesis.modes[1:]
    return (
        *(Fault(m.part, m.mode, severity) for m in first),
        *(Fault(m.part, m.mode, _middling(network, m)) for m in rest),
        *hypothesis.beside,
    )


def severity_of(network: Network, mode: ModeAt) -> Severity | None:
    """Return the range of severities of a fault mode, None where there is only one."""
    return network.parts[mode.part].kind.faults[mode.mode].severity


def _middling(network: Network, mode: ModeAt) -> float:
    severity = severity_of(network, mode)
    if severity is None:
        return 0.0
    if severity.log:
        return math.sqrt(severity.low * severity.high)
    return 0.5 * (severity.low + severity.high)
