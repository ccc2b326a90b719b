"""Which faults some symptom leads to: by the current they change, by their signs, by the noise they make."""

from collections.abc import Mapping
from dataclasses import replace

from assistant.catalogue import Catalogue
from assistant.dialogue import SymptomGraph, load_knowledge
from assistant.dialogue.leading import changes_current, unled_faults
from tests.dialogue.boats import catalogue, knowledge
from tests.dialogue.samples import GOOD, files

SAMPLE = load_knowledge(files(GOOD)).symptoms
WITHOUT_SERVO = load_knowledge(files(GOOD.replace("  servo: {group: servo, optional: yes}\n", ""))).symptoms


def unled(symptoms: Mapping[str, SymptomGraph], kinds: Catalogue | None = None) -> set[tuple[str, str]]:
    found = unled_faults(symptoms, kinds or catalogue())
    return {(kind.name, fault.name) for kind, fault in found}


def test_the_knowledge_of_the_program_leads_to_every_fault() -> None:
    assert unled(knowledge().symptoms) == set()


def test_without_a_symptom_nothing_leads_anywhere() -> None:
    every = {(kind.name, fault) for kind in catalogue().kinds.values() for fault in kind.faults}
    assert unled({}) == every


def test_a_part_that_only_takes_current_needs_a_role_that_it_can_fill() -> None:
    assert {("lamp", "burnt out"), ("depth sounder", "dead")} <= unled(SAMPLE)
    assert ("wire", "broken") not in unled(SAMPLE)
    assert ("pump motor", "stalled") not in unled(SAMPLE)


def test_noise_is_led_to_by_what_hears_it() -> None:
    assert ("pump motor", "no suppressor") not in unled(SAMPLE)
    assert ("pump motor", "no suppressor") in unled(WITHOUT_SERVO)


def test_a_fault_that_no_sign_and_no_current_shows_is_not_led_to() -> None:
    servo = catalogue().kinds["servo"]
    mute = replace(servo, signs={name: sign for name, sign in servo.signs.items() if name == "warmth"})
    assert ("servo", "gears") in unled(SAMPLE, Catalogue(kinds={"servo": mute}))
    assert ("servo", "shorted") not in unled(SAMPLE, Catalogue(kinds={"servo": mute}))


def test_a_fault_changes_current_by_elements_conditions_or_values_they_rest_on() -> None:
    kinds = catalogue().kinds
    assert changes_current(kinds["wire"], kinds["wire"].faults["broken"])
    assert changes_current(kinds["nimh pack"], kinds["nimh pack"].faults["flat"])
    assert changes_current(kinds["pump motor"], kinds["pump motor"].faults["drags"])
    assert not changes_current(kinds["servo"], kinds["servo"].faults["gears"])
    assert not changes_current(kinds["pump motor"], kinds["pump motor"].faults["no suppressor"])


def test_a_setting_of_the_radio_shows_by_what_listens_to_a_channel() -> None:
    kinds = catalogue().kinds
    assert ("channel", "reversed") not in unled(SAMPLE)
    assert ("channel", "reversed") in unled(
        SAMPLE, Catalogue(kinds={name: kinds[name] for name in ("channel", "wire")})
    )
