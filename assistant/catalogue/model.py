"""What a part kind is: terminals, values, elements, conditions, faults, signs and ratings, all as data.

A kind describes a part by a handful of physical primitives between its terminals.  Everything numeric is an
:class:`~assistant.catalogue.expression.Expression` over the part's values, so one fault that changes one
value changes every place where that value matters.  Leads are made of kinds too: a wire and a joint at each
end.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from types import MappingProxyType

from assistant.catalogue.expression import Curve, Expression
from assistant.quantities import Unit

_NONE: Mapping[str, Expression] = MappingProxyType({})

SENSED = "sensed"
"""The name under which a formula for how long a condition takes finds what the condition watches."""


class Primitive(StrEnum):
    """The physical building blocks; the only names behind which there is physics code."""

    RESISTANCE = "resistance"
    EMF = "emf"
    LEG = "leg"
    DIODE = "diode"
    MOTOR = "motor"
    DRAW = "draw"
    REGULATOR = "regulator"


PRIMITIVE_NODES: Mapping[Primitive, tuple[str, ...]] = MappingProxyType(
    {
        Primitive.RESISTANCE: ("from", "to"),
        Primitive.EMF: ("positive", "negative"),
        Primitive.LEG: ("positive", "negative", "out"),
        Primitive.DIODE: ("anode", "cathode"),
        Primitive.MOTOR: ("from", "to"),
        Primitive.DRAW: ("from", "to"),
        Primitive.REGULATOR: ("in", "ground", "out"),
    }
)

PRIMITIVE_PARAMETERS: Mapping[Primitive, Mapping[str, Unit]] = MappingProxyType(
    {
        Primitive.RESISTANCE: MappingProxyType({"ohm": Unit.OHM}),
        Primitive.EMF: MappingProxyType({"volts": Unit.VOLT, "ohm": Unit.OHM}),
        Primitive.LEG: MappingProxyType({"duty": Unit.RATIO, "ohm": Unit.OHM}),
        Primitive.DIODE: MappingProxyType({"volts": Unit.VOLT, "amps": Unit.AMP, "slope_v": Unit.VOLT}),
        Primitive.MOTOR: MappingProxyType(
            {
                "ohm": Unit.OHM,
                "idle_a": Unit.AMP,
                "rated_v": Unit.VOLT,
                "rated_a": Unit.AMP,
                "load": Unit.RATIO,
            }
        ),
        Primitive.DRAW: MappingProxyType({"amps": Unit.AMP, "min_v": Unit.VOLT}),
        Primitive.REGULATOR: MappingProxyType(
            {
                "set_v": Unit.VOLT,
                "dropout_v": Unit.VOLT,
                "limit_a": Unit.AMP,
                "ohm": Unit.OHM,
                "efficiency": Unit.RATIO,
            }
        ),
    }
)


class Group(StrEnum):
    """What sort of part a kind is, for roles, advice and layout."""

    PACK = "pack"
    FUSE = "fuse"
    SWITCH = "switch"
    RELAY = "relay"
    CONVERTER = "converter"
    DRIVE = "drive"
    MOTOR = "motor"
    RADIO = "radio"
    SERVO = "servo"
    LIGHT = "light"
    INSTRUMENT = "instrument"
    JOINT = "joint"
    WIRE = "wire"
    JUNCTION = "junction"
    PASSIVE = "passive"
    SETTING = "setting"


class Reach(StrEnum):
    """How easily a probe gets at a terminal."""

    OPEN = "open"
    BEHIND_COVER = "behind cover"
    SEALED = "sealed"


class Side(StrEnum):
    """What a terminal is for; used for roles, layout and for finding negatives."""

    POSITIVE = "positive"
    NEGATIVE = "negative"
    SIGNAL = "signal"
    OUTPUT = "output"
    NEUTRAL = "neutral"


class Status(StrEnum):
    """How a value is known."""

    SEEN = "s"
    MEMORY = "m"
    COMPUTED = "c"
    PRACTICE = "p"


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """Where a value comes from: free words (or an id of the list of sources) and its status."""

    text: str
    status: Status


@dataclass(frozen=True, slots=True, kw_only=True)
class Terminal:
    """A point of a part that a lead can end at and, reach permitting, a probe can touch."""

    name: str
    about: str
    side: Side
    reach: Reach


@dataclass(frozen=True, slots=True, kw_only=True)
class ValueSpec:
    """A number of a part.

    Attributes
    ----------
    unit : unit of the number inside the program (SI, see `Unit`).
    default : expression over other values, or None when the description must give it.
    choices : words that stand for numbers, such as ``{"fitted": 0, "missing": 1}``; empty for a plain number.
    tolerance : relative half-width of the spread among healthy parts (0.05 = ±5 %).
    spread : absolute half-width of that spread, in `unit`; used together with `tolerance` (both add).
    low, high : limits of what a description may give; None when open.
    """

    name: str
    about: str
    unit: Unit
    default: Expression | None
    choices: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    tolerance: float = 0.0
    spread: float = 0.0
    low: float | None = None
    high: float | None = None
    source: Source


@dataclass(frozen=True, slots=True, kw_only=True)
class ElementSpec:
    """One primitive between nodes of the part (terminals, or inner nodes whose names start with ``~``).

    It is present while every condition in `when` holds and none in `unless`.
    """

    name: str
    primitive: Primitive
    nodes: tuple[str, ...]
    parameters: Mapping[str, Expression]
    when: tuple[str, ...] = ()
    unless: tuple[str, ...] = ()


class Sense(StrEnum):
    """What a condition watches."""

    VOLTS = "volts"  # voltage of the first node over the second
    AMPS = "amps"  # current through an element, from its first node to its second
    WATTS = "watts"  # heat of an element: its current times the volts of its first node over its last
    TRAVEL = "travel"  # commanded travel of a signal input, -1 .. 1
    NEUTRAL = "neutral"  # how near neutral a signal input is told to stay with all sticks let go, 0 .. 1
    HEARD = "heard"  # mean signal volts at an input over what an intact lead brings, 0 .. 1; 0 if held high
    SETTING = "setting"  # a lever, key, plug or magnet set by hand


@dataclass(frozen=True, slots=True, kw_only=True)
class ConditionSpec:
    """A discrete inner state with hysteresis: becomes true at `on` or above, false at `off` or below.

    `of` names two nodes (volts), an element (amps, watts), an input (travel, neutral, heard) or a setting.  It can
    only be true while every condition of `when` is.  `on_s` and `off_s` are how long it takes to become true and
    false, over the part's values and ``sensed``, what it watches then; None: no time to speak of.
    """

    name: str
    about: str
    sense: Sense
    of: tuple[str, ...]
    on: Expression | None = None
    off: Expression | None = None
    on_s: Expression | None = None
    off_s: Expression | None = None
    when: tuple[str, ...] = ()
    click: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class SettingSpec:
    """Something a person sets by hand on the part, with the words for both positions.

    Elements and conditions may name it in `when` and `unless` like a condition.
    """

    name: str
    about: str
    off_word: str
    on_word: str
    rest_on: bool
    seconds: float


@dataclass(frozen=True, slots=True, kw_only=True)
class InputSpec:
    """A three-wire signal input.

    `lost_travel` is what the device does (-1 .. 1) while no valid pulses arrive; `one_way` maps pulses
    1000..2000 µs to 0..1 rather than -1..1.  With `idles_below` all below the middle is neutral as well, as for what
    drives one way only.
    """

    name: str
    signal: str
    positive: str | None
    negative: str
    one_way: bool
    idles_below: bool
    lost_travel: Expression


@dataclass(frozen=True, slots=True, kw_only=True)
class SlotSpec:
    """Row of equal three-pin sockets on a receiver: terminals ``1s 1+ 1-``, ``2s ...`` are made of it."""

    logic_v: Expression
    frame_ms: Expression
    source_ohm: Expression
    when: tuple[str, ...]
    positive: str
    negative: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Severity:
    """How bad a fault can be: a range of one number, spaced evenly or log-evenly."""

    unit: Unit
    low: float
    high: float
    log: bool


class Action(StrEnum):
    """What cures a fault; faults with the same action at the same place are one repair."""

    REPLACE = "replace"
    REMAKE = "remake"
    CHARGE = "charge"
    CLEAR = "clear"
    SET = "set"
    CONNECT = "connect"
    FIT = "fit"
    DRY = "dry"


@dataclass(frozen=True, slots=True, kw_only=True)
class Overload:
    """What brings about a fault that only ever follows another: more than `above` amperes through an element."""

    element: str
    above: Expression


@dataclass(frozen=True, slots=True, kw_only=True)
class FaultSpec:
    """One way a part fails: what it changes in the model, how likely, and what cures it.

    `values` override values of the part (expressions over its healthy values and ``severity``); elements in
    `open` vanish, those in `short` are bridged by 5 mΩ across their first two nodes; `add` are elements
    present only in the fault; conditions in `always`/`never` are stuck.  `intermittent` faults come and go: the
    rest of the time the part is well.  `follows` is set for faults that are only ever a consequence.  `share` is
    the share among the faults of the kind.
    """

    name: str
    says: str
    share: float
    source: Source
    action: Action
    remedy: str
    severity: Severity | None = None
    values: Mapping[str, Expression] = field(default_factory=lambda: _NONE)
    open: tuple[str, ...] = ()
    short: tuple[str, ...] = ()
    add: tuple[ElementSpec, ...] = ()
    always: tuple[str, ...] = ()
    never: tuple[str, ...] = ()
    intermittent: bool = False
    follows: Overload | None = None


class Look(StrEnum):
    """With which sense a sign is taken in."""

    SEE = "see"
    HEAR = "hear"
    FEEL = "feel"
    SMELL = "smell"


@dataclass(frozen=True, slots=True, kw_only=True)
class SignSpec:
    """Something a person notices on the part, with levels cut out of a computed quantity.

    `levels` has one name more than `cuts`: quantity below ``cuts[0]`` shows ``levels[0]`` and so on upwards.
    `blur` is the relative softness of the cuts.  While a condition of `restless` alternates, `restless_level`
    shows instead.  `chance`, when given, is the probability of `chance_level` on top (0 .. 1).  An `unplugged` sign
    is looked for with every pack unplugged, because looking means pulling, turning or touching something.
    """

    name: str
    ask: str
    look: Look
    of: Expression
    cuts: tuple[Expression, ...]
    levels: tuple[str, ...]
    words: Mapping[str, str]
    blur: float
    restless: tuple[str, ...] = ()
    restless_level: str = ""
    chance: Expression | None = None
    chance_level: str = ""
    unplugged: bool = False
    source: Source


@dataclass(frozen=True, slots=True, kw_only=True)
class RatingSpec:
    """A limit of the part for `check`; its name says what of (``volts``, ``amps``, ``leg_a.amps`` …)."""

    name: str
    about: str
    limit: Expression
    source: Source


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """A part kind, complete.

    `through` are the two terminals that a bare name in a run stands for, or the one, or none.
    """

    name: str
    about: str
    group: Group
    weight: float
    weight_source: Source
    terminals: Mapping[str, Terminal]
    through: tuple[str, ...]
    values: Mapping[str, ValueSpec]
    curves: Mapping[str, Curve]
    settings: Mapping[str, SettingSpec]
    inputs: Mapping[str, InputSpec]
    slots: SlotSpec | None
    elements: Mapping[str, ElementSpec]
    conditions: Mapping[str, ConditionSpec]
    faults: Mapping[str, FaultSpec]
    signs: Mapping[str, SignSpec]
    ratings: Mapping[str, RatingSpec]
    noise: Expression | None
    probe: str
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Catalogue:
    """All part kinds by name."""

    kinds: Mapping[str, Kind]
