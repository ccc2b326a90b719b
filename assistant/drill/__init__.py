"""Virtual boats with hidden faults: to prove the diagnosis on, and to learn on."""

from assistant.drill.virtual import VirtualBoat

__all__ = ["VirtualBoat"]
