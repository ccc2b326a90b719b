"""A small good symptom and ways to spoil it."""

from tests.lessons.samples import GOOD as LESSON

SAFETY = """
held-boat:
  text: Hold it.
  why: It moves.
  on: [start, run, plug in, ohms, repair, replace fuse]
  confirm: yes
  source: practice
dead: {text: Unplug it., why: It burns., confirm: no, needs: unplugged, source: practice}
"""
WORDS = "strip: {forms: [strips], means: the thin metal in a fuse}\n"
HOW = """
volts: {text: Meter on volts., lesson: sample}
ohms: Meter on ohms.
continuity: Meter on beeper.
look: Look at it.
gently: Do it gently.
"""
GOOD = """
symptom: sample
title: Sample
says: [it does nothing]
source: common practice
focus: pump
roles:
  pump:  {group: motor, shows: turning}
  drive: {feeds: pump, group: drive, optional: yes}
  fuse:  {feeds: pump, group: fuse, optional: yes}
  pack:  {feeds: pump, group: pack}
  servo: {group: servo, optional: yes}
states:
  off:     {base: rest}
  ready:   {base: ready}
  running: {base: ready, run: pump}
start: safe
nodes:
  safe: {confirm: Held?, caution: [held-boat], yes: look, no: stop, why: It matters., how: gently}
  look: {lesson: sample, sign: turning, of: pump, state: running, then: {runs: stop, any: strip}, why: It matters.}
  strip:
    ask: Is the strip whole?
    answers:
      whole: {text: whole, then: supply, evidence: {sign: strip, of: fuse, level: whole, state: off}}
      broken: {text: broken, then: narrow, evidence: {sign: strip, of: fuse, level: broken, state: off}}
    likely: whole
    unsure: supply
    why: It matters.
    how: gently
  supply: {read: DC volts, red: "drive +", black: "drive -", state: running, then: {any: narrow}, why: It matters.}
  narrow: {narrow: all, then: {any: done}, why: It matters.}
  done: {conclude: verdict}
  stop: {conclude: stop, text: Stop.}
examples:
  - {boat: dabchick, fault: "fuse open", expect: {place: fuse}}
  - {boat: dabchick, answers: {safe: yes}, path: [safe, look], expect: {}}
counter:
  - {boat: dabchick, fault: "rudder dead", expect: {not: pack}}
"""


def files(text: str) -> dict[str, str]:
    """Return knowledge files with one symptom."""
    return {
        "safety.yaml": SAFETY,
        "how.yaml": HOW,
        "words.yaml": WORDS,
        "symptoms/sample.yaml": text,
        "lessons/sample.yaml": LESSON,
    }


def changed(old: str, new: str) -> str:
    """Return the good symptom with one place changed, which must be there."""
    assert old in GOOD, old
    return GOOD.replace(old, new, 1)
