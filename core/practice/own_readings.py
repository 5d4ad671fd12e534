"""A person's own readings in a rehearsal beside the true values."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any, Final, Protocol, cast

import numpy as np

from core.fitting import Reading
from core.language import Label, Message, Quantity, Value, message
from core.practice.grooves import INNER_GROOVE_MM, OUTER_GROOVE_MM
from core.practice.instrument_display import InstrumentDisplay
from core.practice.recorded_figures import RECORDED
from core.practice.world import InstrumentErrors, World
from core.records import BenchKit, FieldSpec, fields_of
from core.steps import (
    ALIGNMENT,
    ARM_HEIGHT,
    FINAL_DOWNFORCE,
    LEVEL,
    MOUNT,
    ROUGH_DOWNFORCE,
    SPEED,
    STEP_NAMES,
    TILT,
)
from core.steps.speed import LAMP_SHARE, READOUT_SHARE

_FINELY: Final = 1e-5
"""What an instrument that shows the truth is read to, in any unit."""

_LINE_DEG: Final = 0.3
"""How accurately a line is laid along a parallel arm's path, as the practice bench lays it."""

_READOUT_STEP_RPM: Final = 0.01
"""How finely a readout shows the speed on the practice bench."""

_COVERS: Final = 1.96
"""Standard deviations within which 95 % of a normal spread lie."""

Values = Mapping[str, Any]
Spread = Callable[[BenchKit, float, Values], float]
"""From the bench kit, the value and the whole reading to one standard uncertainty of the value."""


class _Instrument(Protocol):
    def __call__(
        self, world: World, rng: np.random.Generator, /, **choices: Any
    ) -> InstrumentDisplay: ...


@dataclass(frozen=True, slots=True)
class OwnReading:
    """One figure that a person read off an instrument, in ``unit``.

    ``allowed`` is how far the instrument itself may be off, half of the 95 % interval, by what the
    deck's bench kit says of it.
    """

    entry_id: str
    step: str
    way: Label
    field: Label
    read: float
    truth: float
    allowed: float
    unit: str
    decimals: int
    directions: tuple[Label, Label] | None = None

    @property
    def off(self) -> float:
        """How far the reading is from the truth."""
        return abs(self.read - self.truth)

    @property
    def is_allowed(self) -> bool:
        """Whether the instrument's own error explains it, to half of the last digit shown."""
        return self.off <= self.allowed + 0.5 * 10.0**-self.decimals

    def told(self, value: float) -> Value:
        """Return a value of it to be written, with its direction in words."""
        if self.directions is None or not round(value, self.decimals):
            return Quantity(value, self.unit, self.decimals)
        size = Quantity(abs(value), self.unit, self.decimals)
        way = self.directions[0 if value > 0.0 else 1]
        return message("practice.own.directed", value=size, way=way)


def own_readings(
    entry_id: str,
    step: str,
    reading: Reading,
    instrument: _Instrument | None,
    world: World,
    choices: Values,
) -> tuple[OwnReading, ...]:
    """Return the figures of one reading beside what a perfect instrument would have shown.

    Parameters
    ----------
    entry_id, step
        The entry that keeps it, and its step.
    reading
        What the person typed.
    instrument
        The practice bench's instrument for it, None if there is none.
    world
        The true state of the deck then. It is not changed.
    choices
        How the instrument was set up.
    """
    way = str(reading.way)
    recorded = RECORDED.get((step, way))
    if recorded is not None and instrument is not None:
        return _of_recording((entry_id, step), reading, instrument, world, choices)
    measured = _MEASURED.get((step, way))
    if measured is None or instrument is None:
        return ()
    typed = reading.model_dump(mode="json")
    specs = {spec.name: spec for spec in fields_of(type(reading))}
    if (step, way) in _SPECIAL:
        true = _SPECIAL[step, way](world)
        typed = typed | _signed(typed)
    else:
        shown = _shown_by(instrument, _perfect(world, keeps_tools=way in _OF_THE_SCALE), choices)
        if shown is None:
            return ()
        true, typed = {**shown, **_signed(shown)}, {**typed, **_signed(typed)}
    bench = world.deck.bench
    return tuple(
        _one(
            (entry_id, step),
            reading,
            specs[name],
            typed[field],
            true[field],
            spread(bench, true[field], typed),
        )
        for name, field, spread in measured
        if typed.get(field) is not None and true.get(field) is not None
    )


def _of_recording(
    of: tuple[str, str],
    reading: Reading,
    instrument: _Instrument,
    world: World,
    choices: Values,
) -> tuple[OwnReading, ...]:
    """Return what a recording tells beside what one without any error would tell."""
    shown = _shown_by(instrument, _perfect(world, keeps_tools=False), choices)
    if shown is None:
        return ()
    perfect = type(reading).model_validate(dict(shown))
    found = []
    for figure in RECORDED[of[1], str(reading.way)]:
        read, true = figure.told(reading, world.deck), figure.told(perfect, world.deck)
        if read is not None and true is not None:
            found.append(
                OwnReading(
                    *of,
                    Label(type(reading).WAY_TITLE),
                    figure.name,
                    read[0],
                    true[0],
                    _COVERS * read[1],
                    figure.unit,
                    figure.decimals,
                    figure.directions,
                )
            )
    return tuple(found)


def _shown_by(instrument: _Instrument, world: World, choices: Values) -> Values | None:
    """Return what an instrument shows without chance; None where the arm lets none be taken."""
    still = cast("np.random.Generator", _Still())  # what instruments ask of one
    try:
        return instrument(world, still, **choices).values
    except ValueError:
        return None


def _one(
    of: tuple[str, str], reading: Reading, spec: FieldSpec, read: float, truth: float, spread: float
) -> OwnReading:
    unit = spec.unit
    ways = spec.directions
    if spec.name == "drifted_bars":
        directions: tuple[Label, Label] | None = (Label("with the turn"), Label("against the turn"))
    elif spec.name == "angle_deg" and str(reading.way) == "mirror":
        directions = (Label("left high"), Label("right high"))
    else:
        directions = None if ways is None else (Label(ways.plus), Label(ways.minus))
    allowed = _COVERS * spread
    decimals = min(max(unit.decimals if unit is not None else 2, 1), 2)
    return OwnReading(
        *of,
        Label(type(reading).WAY_TITLE),
        Label(_NAMED.get((str(reading.way), spec.name), spec.label)),
        float(read),
        float(truth),
        allowed,
        unit.symbol if unit is not None else "",
        decimals,
        directions,
    )


def worst_of_each(
    readings: Iterable[OwnReading], counted: Iterable[str]
) -> tuple[tuple[OwnReading, int], ...]:
    """Return the worst reading of each figure of each instrument, and the number of its readings.

    Parameters
    ----------
    readings
        In the order in which they were taken.
    counted
        The entries that count: what was left out is not held against anybody.

    Returns
    -------
    tuple
        In the order of the steps.
    """
    counts = set(counted)
    groups: dict[tuple[str, str, str], list[OwnReading]] = {}
    for one in readings:
        if one.entry_id in counts:
            groups.setdefault((one.step, one.way.text, one.field.text), []).append(one)
    found = [
        (max(group, key=lambda one: one.off / max(one.allowed, 1e-9)), len(group))
        for group in groups.values()
    ]
    return tuple(sorted(found, key=lambda pair: STEP_NAMES.index(pair[0].step)))


class _Still:
    """A random generator that always returns the mean."""

    def standard_normal(self) -> float:
        return 0.0


def _perfect(world: World, *, keeps_tools: bool) -> World:
    """Return the deck as it stands, with instruments that show it as it is.

    A check weight or an empty pan is there to show what the scale does: its faults are the truth.
    """
    read = {name: _FINELY for name in BenchKit.model_fields if "_read_" in name}
    read |= {"test_level_db": _FINELY, "stopwatch_s": _FINELY}
    bench = world.deck.bench.model_copy(update={**read, "bubble_range_div": 1e6})
    deck = world.deck.model_copy(update={"bench": bench})
    tools = world.tools if keeps_tools else InstrumentErrors()
    return replace(world, deck=deck, tools=tools)


def _signed(values: Values) -> dict[str, float]:
    """Return what a reading says in two fields as one number: bars drifted, a lean."""
    found: dict[str, float] = {}
    if values.get("drifted_bars") is not None:
        against = values.get("direction") == "against"
        found["bars"] = -values["drifted_bars"] if against else values["drifted_bars"]
    if values.get("lean") is not None:
        angle = values.get("angle_deg") or 0.0
        sides = {"left high": angle, "right high": -angle}
        found["leans"] = sides.get(values["lean"], 0.0)
    return found


def _leans(world: World) -> dict[str, Any]:
    return {"leans": world.pose().tilt_deg}


def _puts_on(world: World) -> dict[str, Any]:
    return {"dial_gf": world.downforce_gf}


_SPECIAL: Final[dict[tuple[str, str], Callable[[World], dict[str, Any]]]] = {
    (TILT, "mirror"): _leans,
    (ROUGH_DOWNFORCE, "float and dial"): _puts_on,
    (FINAL_DOWNFORCE, "float and dial"): _puts_on,
}
"""Readings that move what they read, or are read too coarsely for the instrument to say better."""

_NAMED: Final = {("timed turns", "seconds"): "Time", ("mirror", "angle_deg"): "Lean"}
"""Figures whose label only makes sense within the line of a form."""

_OF_THE_SCALE: Final = ("check weight", "empty pan")


def _by(name: str) -> Spread:
    return lambda bench, _value, _typed: float(getattr(bench, name))


def _level(bench: BenchKit, unit_mm_per_m: float, read: float) -> float:
    return math.hypot(read, bench.level_zero_error_mm_per_m / unit_mm_per_m)


def _scale(bench: BenchKit, value: float, _typed: Values) -> float:
    return math.hypot(bench.scale_read_gf, 0.01 * bench.scale_gain_error * value)


def _dial(bench: BenchKit, value: float, _typed: Values) -> float:
    return math.hypot(bench.float_read_gf, 0.01 * bench.dial_error * value)


def _line(radius_mm: float) -> Spread:
    sideways = radius_mm * math.tan(math.radians(_LINE_DEG))
    return lambda bench, _value, _typed: math.hypot(bench.protractor_read_mm, sideways)


def _gap(bench: BenchKit, _value: float, typed: Values) -> float:
    own = bench.level_zero_error_mm_per_m * float(typed.get("length_mm") or 0.0) / 1000.0
    return math.hypot(bench.ruler_read_mm, own)


def _wall(bench: BenchKit, _value: float, typed: Values) -> float:
    own = bench.level_zero_error_mm_per_m * float(typed.get("width_mm") or 0.0) / 2000.0
    return math.hypot(bench.ruler_read_mm, own)


def _bars(bench: BenchKit, _value: float, typed: Values) -> float:
    flashes = bench.lamp_flashes_per_s * float(typed.get("seconds") or 0.0)
    return math.hypot(bench.strobe_bars_read, LAMP_SHARE * flashes)


def _readout(_bench: BenchKit, value: float, _typed: Values) -> float:
    return math.hypot(_READOUT_STEP_RPM / math.sqrt(12.0), READOUT_SHARE * value)


def _same(spread: Spread, *fields: str) -> tuple[tuple[str, str, Spread], ...]:
    return tuple((field, field, spread) for field in fields)


_BUBBLE: Final[Spread] = lambda bench, _value, _typed: _level(  # noqa: E731  # one of a table of such
    bench, bench.bubble_mm_per_m_per_div, bench.bubble_read_div
)
_INCLINED: Final[Spread] = lambda bench, _value, _typed: _level(  # noqa: E731  # as above
    bench, 1000.0 * math.radians(1.0), bench.inclinometer_read_deg
)

_MEASURED: Final[dict[tuple[str, str], tuple[tuple[str, str, Spread], ...]]] = {
    (LEVEL, "bubble"): _same(_BUBBLE, "divisions"),
    (LEVEL, "inclinometer"): _same(_INCLINED, "angle_deg"),
    (LEVEL, "ruler"): _same(_gap, "gap_mm"),
    (LEVEL, "water"): _same(_wall, "marked_mm", "other_mm"),
    (MOUNT, "weighed"): _same(_scale, "weighed_g"),
    **{
        (step, way): _same(spread, field)
        for step in (ROUGH_DOWNFORCE, FINAL_DOWNFORCE)
        for way, field, spread in (
            ("scale", "downforce_gf", _scale),
            ("check weight", "shown_gf", _by("scale_read_gf")),
            ("empty pan", "shown_gf", _by("scale_read_gf")),
            ("float and dial", "dial_gf", _dial),
        )
    },
    (ARM_HEIGHT, "two heights"): _same(_by("ruler_read_mm"), "front_mm", "rear_mm"),
    (ARM_HEIGHT, "tapered tube"): _same(_by("ruler_read_mm"), "front_mm", "rear_mm"),
    (ARM_HEIGHT, "tube angle"): _same(_by("inclinometer_read_deg"), "pitch_deg"),
    (ALIGNMENT, "landing"): _same(_by("protractor_read_mm"), "landing_mm"),
    (ALIGNMENT, "angles"): _same(_by("protractor_read_deg"), "inner_deg", "outer_deg"),
    (ALIGNMENT, "landing and angles"): (
        *_same(_by("protractor_read_mm"), "landing_mm"),
        *_same(_by("protractor_read_deg"), "inner_deg", "outer_deg"),
    ),
    (ALIGNMENT, "pivot distance"): _same(_by("ruler_read_mm"), "distance_mm"),
    (ALIGNMENT, "path"): (
        ("inner_landing_mm", "inner_landing_mm", _line(INNER_GROOVE_MM)),
        ("outer_landing_mm", "outer_landing_mm", _line(OUTER_GROOVE_MM)),
        (
            "head_deg",
            "head_deg",
            lambda bench, _value, _typed: math.hypot(bench.protractor_read_deg, _LINE_DEG),
        ),
    ),
    (TILT, "gaps"): _same(_by("gap_read_mm"), "left_mm", "right_mm"),
    (TILT, "mirror"): (("angle_deg", "leans", _by("mirror_read_deg")),),
    (TILT, "test bands"): _same(
        _by("test_level_db"),
        "left_band_left_db",
        "left_band_right_db",
        "right_band_right_db",
        "right_band_left_db",
    ),
    (SPEED, "strobe"): (("drifted_bars", "bars", _bars),),
    (SPEED, "timed turns"): _same(_by("stopwatch_s"), "seconds"),
    (SPEED, "readout"): _same(_readout, "rpm"),
}
"""What is read off in each way: the field, what it is compared as, and how finely it is read."""


def told_of(one: OwnReading, count: int) -> Message:
    """Return one sentence that sets a reading beside the truth, for who can't see the table."""
    return message(
        "practice.own.sentence",
        verdict="inside" if one.is_allowed else "outside",
        way=one.way,
        field=one.field,
        read=one.told(one.read),
        truth=one.told(one.truth),
        off=Quantity(one.off, one.unit, one.decimals),
        allowed=Quantity(one.allowed, one.unit, one.decimals),
        count=count,
    )


def named(one: OwnReading, count: int) -> Message:
    """Name the instrument and the figure, and of how many readings this is the worst."""
    return message("practice.own.named", way=one.way, field=one.field, count=count)
