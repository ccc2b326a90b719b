"""Answers about the smallest boat, for tests of what they make believe."""

from assistant.diagnosis import ReadingSeen, SignSeen
from tests.diagnosis.boats import SMEW, light, ohms, read, ready, unplugged, volts

READY, UNPLUGGED = ready(SMEW), unplugged(SMEW)
OVER_FUSE = volts("fuse in", "fuse out", READY)
OVER_LAMP = volts("lamp +", "lamp -", READY)
FUSE_OUT = volts("fuse out", "pack -", READY)
OHMS_OF_FUSE = ohms("fuse in", "fuse out", UNPLUGGED)

LEVELS = ("dark", "dim", "bright", "glaring", "flickers")
PIECES: tuple[ReadingSeen | SignSeen, ...] = (
    light(READY, "dim"),
    read(OVER_FUSE, 1.9),
    read(OVER_LAMP, 5.4),
    light(READY, "dark", "dim"),
    read(OHMS_OF_FUSE, 3.0),
    read(FUSE_OUT, 5.6),
)
