"""Boats as described: parts, leads with their joints, the radio, and what can be touched and set."""

from assistant.wiring.cables import cable_id, cable_ids
from assistant.wiring.graph import as_graph
from assistant.wiring.labels import core_of, label_of, point_label
from assistant.wiring.load import load_boat
from assistant.wiring.load_parts import spoken_value
from assistant.wiring.load_runs import Hop, read_lead
from assistant.wiring.model import (
    Boat,
    Channel,
    Control,
    ControlKind,
    JointKind,
    Lead,
    Part,
    Point,
    Radio,
)
from assistant.wiring.points import (
    described_parts,
    joint_id,
    joint_ids,
    lead_of,
    leads_at,
    points_of,
    radio_ids,
    reach_of,
    side_at,
    sockets_in_use,
    terminals_of,
)
from assistant.wiring.radio_parts import (
    CHANNEL_PAIR,
    MODEL_MEMORY,
    channel_id,
    pair_id,
    paired_channels,
)
from assistant.wiring.settings import TRANSMITTER, Setting, SettingSort, settings_of

__all__ = [
    "CHANNEL_PAIR",
    "MODEL_MEMORY",
    "TRANSMITTER",
    "Boat",
    "Channel",
    "Control",
    "ControlKind",
    "Hop",
    "JointKind",
    "Lead",
    "Part",
    "Point",
    "Radio",
    "Setting",
    "SettingSort",
    "as_graph",
    "cable_id",
    "cable_ids",
    "channel_id",
    "core_of",
    "described_parts",
    "joint_id",
    "joint_ids",
    "label_of",
    "lead_of",
    "leads_at",
    "load_boat",
    "pair_id",
    "paired_channels",
    "point_label",
    "points_of",
    "radio_ids",
    "reach_of",
    "read_lead",
    "settings_of",
    "side_at",
    "sockets_in_use",
    "spoken_value",
    "terminals_of",
]
