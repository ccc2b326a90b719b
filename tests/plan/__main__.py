"""Walk the printed trees against every single fault: ``python -m tests.plan [BOAT ...]``."""

import sys

import numpy as np

from assistant.circuit import forward_states
from assistant.drill import chooser_of, hunt
from tests.plan.boats import example
from tests.plan.paper_walk import Paper, boat_with, diagnosis_of, faults_of, graph_of

SYMPTOMS = (
    "pumps-not-running",
    "servo-dead",
    "servo-jitter",
    "receiver-brownout",
    "relay-clicking",
    "lights-out",
)
ELSEWHERE = "not this trouble"


def report(name: str, symptom: str) -> None:
    diagnosis, paper = diagnosis_of(name), Paper(name, symptom)
    choose = chooser_of(diagnosis, forward_states(example(name)))
    rows, elsewhere = [], 0
    for breakdown in faults_of(name, symptom):
        seed = f"paper {breakdown.number}"
        walked = paper.walk(boat_with(diagnosis, breakdown.faults, seed))
        if walked.ends.startswith(ELSEWHERE):
            elsewhere += 1
            continue
        right = paper.names(walked, breakdown.hypothesis.repairs[0])
        if not right:
            print(f"  missed {breakdown.faults}: {walked.ends[:90]}")
        led = hunt(diagnosis, boat_with(diagnosis, breakdown.faults, seed), breakdown.complaint, choose)
        count = walked.ends.count("; ") + 1
        rows.append((breakdown.weight, right, walked.readings, walked.looks, count, led.readings, led.looks))
    if not rows:
        print(f"{name} {symptom}: no fault shows by its sign ({elsewhere} show otherwise)")
        return
    table = np.array(rows, dtype=np.float64)
    weights = table[:, 0] / table[:, 0].sum()
    print(
        f"{name} {symptom}: {len(rows)} faults, right end {table[:, 1].mean():.1%} (by weight"
        f" {weights @ table[:, 1]:.1%}); by weight {weights @ table[:, 2]:.2f} readings and"
        f" {weights @ table[:, 3]:.2f} looks, {weights @ table[:, 4]:.1f} repairs named; led by the program"
        f" {weights @ table[:, 5]:.2f} readings and {weights @ table[:, 6]:.2f} looks; {elsewhere} show otherwise"
    )


for boat in sys.argv[1:] or ("dabchick",):
    for symptom in SYMPTOMS:
        if symptom in ("relay-clicking", "lights-out") and boat == "dabchick":
            continue
        graph_of(symptom)
        report(boat, symptom)
