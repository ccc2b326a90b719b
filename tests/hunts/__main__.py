"""Hunt every fault that shows through the line protocol: ``python -m tests.hunts [BOAT ...]``."""

import sys
from collections import Counter

from tests.hunts.campaign import campaign

for boat in sys.argv[1:] or ("dabchick", "grebe"):
    played = list(campaign(boat))
    weights = [p.breakdown.weight for p in played]
    found = sum(p.found for p in played)
    mean = sum(w * p.readings for w, p in zip(weights, played, strict=True)) / sum(weights)
    print(
        f"{boat}: {len(played)} faults, right repair in the verdict {found}, {100 * found / len(played):.1f} %,"
    )
    print(f"  mean readings {mean:.2f} by weight, most {max(p.readings for p in played)}")
    print(f"  by symptom {dict(Counter(p.symptom for p in played))}")
    for p in played:
        if not p.found:
            print(f"  missed: {p.breakdown.faults} as {p.symptom}: {p.ending}, named {p.named[:3]}")
