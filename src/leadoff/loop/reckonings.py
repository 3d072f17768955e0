"""The topics of ``electric``: which figures each needs, and what the electrical functions say of them."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field

import msgspec

from leadoff import electrical as el
from leadoff.record.marks import Level, Mark
from leadoff.record.quantity import Quantity, computed

OHMS_LAW = "Ohm's law"


class Figure(msgspec.Struct, frozen=True, kw_only=True):
    """One result with its name."""

    name: str
    value: Quantity


@dataclass(frozen=True)
class Answer:
    """Results, what they mean in words, the source of the rule, and marks."""

    results: tuple[Figure, ...]
    says: tuple[str, ...]
    source: str
    marks: tuple[Mark, ...] = ()


@dataclass(frozen=True)
class Key:
    """A figure that is asked for: its unit, and what is taken when it is not said."""

    unit: str
    default: float | str | None = None
    optional: bool = False


@dataclass(frozen=True)
class Given:
    """The figures that were typed or taken."""

    values: Mapping[str, float | str | None]
    assumed: frozenset[str] = frozenset()

    def __getitem__(self, name: str) -> float:
        value = self.values[name]
        assert isinstance(value, (int, float))
        return float(value)

    def maybe(self, name: str) -> float | None:
        """A figure that may be left out."""
        return self[name] if self.values.get(name) is not None else None

    def word(self, name: str) -> str:
        """A figure that is a word."""
        return str(self.values[name])

    def __iter__(self) -> Iterator[tuple[str, float | str | None]]:
        return iter(self.values.items())


@dataclass(frozen=True)
class Topic:
    """A question with its figures, an example, and how it is worked out."""

    name: str
    what: str
    example: str
    keys: Mapping[str, Key]
    work: Callable[[Given], Answer] = field(repr=False)


def _figure(name: str, value: float, unit: str) -> Figure:
    return Figure(name=name, value=computed(value, unit))


def _mark(level: Level, code: str, text: str) -> Mark:
    return Mark(level=level, code=f"electric.{code}", text=text)


def _heat(g: Given) -> Answer:
    heat = el.linear_heat(in_volts=g["in"], out_volts=g["out"], out_amps=g["amps"])
    watts = heat.total_w
    says: list[str] = []
    results = [_figure("heat", watts, "W")]
    if watts > 0:
        sink = el.regulator_sink(watts=watts, ambient_c=g["air"])
        results += [
            _figure("bare junction", sink.bare_junction_c, "C"),
            _figure("sink by the control section", sink.control_c_per_w, "C/W"),
            _figure("sink by the output section", sink.output_c_per_w, "C/W"),
        ]
        bare = "bare it stays inside its 125 C" if sink.bare_junction_c < 125 else "bare it passes its 125 C"
        says.append(f"{bare}; a sink of {sink.c_per_w:.3g} C/W or less keeps both sections inside")
    marks = [_mark(Level.NOTE, "burn", "hot metal burns skin: use a thermometer, not a finger")]
    return Answer(
        tuple(results), tuple(says), "LM1085 data sheet p. 9; section figures from memory", tuple(marks)
    )


def _sink(g: Given) -> Answer:
    theta = el.case_to_air_needed_c_per_w(case_max_c=g["case"], ambient_c=g["air"], watts=g["watts"])
    rule = "bare" if g["watts"] < 2.5 else "a sink" if g["watts"] <= 6 else "a sink with a fan"
    says = (f"by rule of thumb (judgement) {g['watts']:g} W asks for: {rule}",)
    return Answer(
        (_figure("case to air, at most", theta, "C/W"),),
        says,
        "Pentium data sheet 5.1.1: TA = TC - P x thetaCA",
    )


def _power(g: Given) -> Answer:
    to_mhz = g.maybe("to_mhz")
    mhz = g.maybe("mhz") or to_mhz or 1.0
    watts = el.scaled_watts(
        g["watts"], volts=g["volts"], to_volts=g["to_volts"], mhz=mhz, to_mhz=to_mhz or mhz
    )
    change = el.change_pct(watts, g["watts"])
    says = ("good within one die and one process only; add 5 % margin (judgement)",)
    return Answer(
        (_figure("power", watts, "W"), _figure("change", change, "%")), says, "switching loss C V^2 f of CMOS"
    )


def _socket(g: Given) -> Answer:
    found = el.against_range(
        g["volts"], low_volts=g["low"], high_volts=g["high"], absolute_volts=g.maybe("max")
    )
    results = [
        _figure("over the recommended range", found.over_recommended_pct, "%"),
        _figure("under the recommended range", found.under_pct, "%"),
        _figure("heat against the middle of the range", found.power_ratio, "times"),
    ]
    says = []
    if found.over_absolute_pct is not None:
        results.append(_figure("over the absolute maximum", found.over_absolute_pct, "%"))
    if found.over_recommended_pct > 0:
        says.append(
            "too high a jumper heats and breaks down the gates: the part can die at the first power-up"
        )
    elif found.under_pct > 0:
        says.append("too low a jumper gives no start or errors, and harms nothing")
    else:
        says.append("inside the range")
    says.append(
        "measure the empty socket at this setting before the part goes in; `leadoff card BOARD` is the judge"
    )
    return Answer(tuple(results), tuple(says), "the part's own data sheet for the range; heat by C V^2 f")


def _cell(g: Given) -> Answer:
    drain = g.maybe("ua")
    if drain is None:
        drop = g.maybe("mv")
        drain = 5.0 if drop is None else el.drain_from_drop_ua(drop, g["ohms"])
    years = el.cell_years(capacity_mah=g["mah"], drain_ua=drain, self_discharge_pct_per_year=g["loss"])
    capped = min(years, el.SHELF_YEARS)
    says = [f"by formula {years:.3g} years"] if years > capped else []
    says.append(f"look again in {capped:.2g} years; power-on time adds to it")
    if g.maybe("ua") is None and g.maybe("mv") is None:
        says.append(
            "5 uA was taken: measure yours with 1 kohm in series (1 mV is 1 uA); early clock parts draw 14 to 70 uA"
        )
    return Answer(
        (_figure("clock current", drain, "uA"), _figure("life", capped, "years")),
        tuple(says),
        "charge balance; capped at ten years of shelf life (judgement)",
    )


def _charge(g: Given) -> Answer:
    ohms = el.blocking_ohms(supply_volts=g["volts"], cell_volts=g["cell"], limit_ma=g["ma"])
    path = {"yes": True, "no": False}.get(g.word("path"))
    fits = el.may_be_fitted(g.word("chemistry"), charge_path=path)
    words = {
        True: (Level.GREEN, "this cell may be fitted as measured"),
        False: (Level.RED, "a charge path leads to a primary cell: it can burst or burn; cut the path first"),
        None: (Level.AMBER, "measure the charge path first: board on, cell out, 10 kohm at the holder"),
    }
    level, text = words[fits]
    return Answer(
        (_figure("least resistor beside one diode", ohms, "ohm"),),
        ("never charge a primary lithium cell: isolate it, a resistor is only the second line of defence",),
        "lithium coin cell designer's guide (cell maker), p. 53; Handbook of Batteries 8.4",
        (_mark(level, "cell", text),),
    )


def _load(g: Given) -> Answer:
    rail = el.Rail(volts=g["volts"], min_amps=g["min"], max_amps=g["max"])
    load = el.rail_load(rail, g["amps"])
    ohms = el.dummy_load_ohms(rail, g["amps"])
    if load.over_maximum_amps:
        return Answer(
            (_figure("over the rail", load.over_maximum_amps, "A"),), ("too much for this rail",), OHMS_LAW
        )
    if ohms is None:
        return Answer((), ("the load is enough; no dummy load is needed",), OHMS_LAW)
    watts = el.dummy_load_watts(rail, g["amps"])
    says = (f"a resistor of at most {ohms:.3g} ohm, rated for {2 * watts:.3g} W or more; it gets hot",)
    return Answer(
        (_figure("dummy load", ohms, "ohm"), _figure("its heat", watts, "W")),
        says,
        "IBM 5170 manual: a supply may switch off below its minimum load; minimum current by the supply's class",
    )


def _good(g: Given) -> Answer:
    found = el.power_good(g["ms"])
    says = [found.why]
    volts = g.maybe("volts")
    if volts is not None:
        level = el.power_good_level(volts)
        says.append(f"{volts:g} V is {level.word} (expect {level.usual})")
    return Answer(
        (), tuple(says), "ATX power supply design guide, table 9 (100 to 500 ms) and table 14 (levels)"
    )


def _rail(g: Given) -> Answer:
    nominal = g["of"]
    found = el.rail_state(g["volts"], nominal)
    off = el.change_pct(abs(g["volts"]), abs(nominal))
    words = {
        "good": "inside the tighter figure",
        "edge": "inside the wider figure only: look under load",
        "out": "out of limits: no power until it is repaired",
    }
    level = {"good": Level.NOTE, "edge": Level.AMBER, "out": Level.RED}[found.word]
    return Answer(
        (_figure("off", off, "%"),),
        (f"{found.word}: {words[found.word]}; expect {found.usual}",),
        found.source,
        (_mark(level, "rail", f"{g['volts']:g} V on the {nominal:g} V rail is {found.word}"),),
    )


def _ground(g: Given) -> Answer:
    found = el.to_ground(g["ohms"], g.word("rail"), processor_in=g.word("processor") == "in")
    says = (f"{found.word}; usual: {found.usual}",)
    level = {"short": Level.RED, "suspect": Level.AMBER, "usual": Level.NOTE}[found.word]
    text = {
        "short": "a short: no power on this board until it is found",
        "suspect": "suspect: compare with a healthy board, find the reason before power",
        "usual": "no short here; every rail has to be measured before first power",
    }[found.word]
    return Answer((), says, found.source, (_mark(level, "ground", text),))


def _inrush(g: Given) -> Answer:
    found = el.inrush(volts=abs(g["volts"]), microfarads=g["uf"], ohms=g["ohms"])
    end = el.plus_goes_to(g["volts"])
    says = (
        f"the marked plus end goes to {'ground' if end == 'ground' else 'the rail'}",
        f"a tantalum here is rated {el.tantalum_volts_needed(g['volts']):g} V or more",
    )
    return Answer(
        (
            _figure("first current", found.peak_amps, "A"),
            _figure("energy", found.joules, "J"),
            _figure("95 % charged after", found.seconds * 1000.0, "ms"),
        ),
        says,
        "charge of a capacitor; tantalum data book (maker), polarity and surge voltage",
        (
            _mark(
                Level.AMBER,
                "tantalum",
                "stand back at first power, eyes protected: a reversed bead can burst",
            ),
        ),
    )


def _empty(g: Given) -> Answer:
    seconds = el.emptied_seconds(microfarads=g["uf"], ohms=g["ohms"])
    return Answer(
        (_figure("down to 5 % after", seconds, "s"),),
        ("measure that it is below 10 V before you touch it",),
        "repair-community wiki on discharging capacitors, 3RC rule",
        (
            _mark(
                Level.AMBER,
                "mains",
                "never open a mains supply: parts inside hold lethal charge after unplugging",
            ),
        ),
    )


_TOPICS = (
    Topic(
        "heat",
        "heat of a linear regulator and the sink it needs",
        "heat in 5.25 out 3.45 amps 0.93",
        {"in": Key("v"), "out": Key("v"), "amps": Key("a"), "air": Key("c", 40.0)},
        _heat,
    ),
    Topic(
        "sink",
        "sink of a processor at a case limit and an air temperature",
        "sink watts 15.9 case 70 air 35",
        {"watts": Key("w"), "case": Key("c"), "air": Key("c", 40.0)},
        _sink,
    ),
    Topic(
        "power",
        "watts of a part at another voltage and clock",
        "power watts 28.3 volts 3.2 to 3.3",
        {
            "watts": Key("w"),
            "volts": Key("v"),
            "to_volts": Key("v"),
            "mhz": Key("mhz", optional=True),
            "to_mhz": Key("mhz", optional=True),
        },
        _power,
    ),
    Topic(
        "socket",
        "what a voltage jumper does to a part of a given range",
        "socket volts 5 low 3.3 high 3.6 max 4.6",
        {"volts": Key("v"), "low": Key("v"), "high": Key("v"), "max": Key("v", optional=True)},
        _socket,
    ),
    Topic(
        "cell",
        "how long a cell keeps the clock",
        "cell mah 220 ua 5",
        {
            "mah": Key("mah", 220.0),
            "ua": Key("ua", optional=True),
            "mv": Key("mv", optional=True),
            "ohms": Key("ohm", 1000.0),
            "loss": Key("pct", 1.0),
        },
        _cell,
    ),
    Topic(
        "charge",
        "charge path to a cell, and the resistor beside its diode",
        "charge chemistry primary path no",
        {
            "volts": Key("v", 5.25),
            "cell": Key("v", 2.0),
            "ma": Key("ma", 10.0),
            "chemistry": Key("word", "primary"),
            "path": Key("word", "unknown"),
        },
        _charge,
    ),
    Topic(
        "load",
        "dummy load for a supply with a minimum current",
        "load volts 5 amps 0.5 min 1.5",
        {"volts": Key("v", 5.0), "amps": Key("a"), "min": Key("a"), "max": Key("a", 200.0)},
        _load,
    ),
    Topic(
        "good",
        "power-good delay and level",
        "good ms 300 volts 4.9",
        {"ms": Key("ms"), "volts": Key("v", optional=True)},
        _good,
    ),
    Topic(
        "rail",
        "a measured rail against its tolerance",
        "rail volts 4.92 of 5",
        {"volts": Key("v"), "of": Key("v")},
        _rail,
    ),
    Topic(
        "ground",
        "ohms from a rail to ground before first power",
        "ground rail 5v ohms 38",
        {"rail": Key("word"), "ohms": Key("ohm"), "processor": Key("word", "out")},
        _ground,
    ),
    Topic(
        "inrush",
        "first current into a capacitor, its polarity and rating",
        "inrush volts 12 uf 22 ohms 0.5",
        {"volts": Key("v"), "uf": Key("uf"), "ohms": Key("ohm")},
        _inrush,
    ),
    Topic(
        "empty",
        "time to empty a capacitor through a resistor",
        "empty uf 235 ohms 2200",
        {"uf": Key("uf"), "ohms": Key("ohm")},
        _empty,
    ),
)
TOPICS: Mapping[str, Topic] = {t.name: t for t in _TOPICS}
