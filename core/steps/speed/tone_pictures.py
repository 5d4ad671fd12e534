"""The pictures of a recorded tone: the turn as a polar picture, the spectrum, drift over a side."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import partial
from typing import Final

import numpy as np

from core.drawing.chart import Axis, Curve, Item, MarkRole, Picture, Points, Rule, Tag, floats
from core.fitting import MorePicture
from core.language import Message, Quantity, Sentences, message
from core.records import Deck
from core.steps.shared import HeardSpeed
from core.steps.speed.readings import speed_name

_RINGS: Final = (0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0)
"""Percent from one ring to the next: the smallest that fits the whole turn is used."""

_MIDDLE: Final = 2.0
"""Radius of the mean; the rings lie one beyond it and one within."""

_EDGE: Final = 3.7
_ROUND: Final = 181
_TICKS_HZ: Final = (0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 200)
_SHOWN_HZ: Final = (0.18, 220.0)
_MINUTES_FROM_S: Final = 180.0
_DECIMALS: Final = 3


def tone_pictures(told: HeardSpeed, deck: Deck, rpm: float) -> Iterator[MorePicture]:
    """Yield the pictures of a tone; none if it was kept without picture data."""
    if told.turn_percent:
        yield MorePicture(message("speed.turn_seen.name"), partial(turn_picture, told, rpm))
    if told.spectrum_hz:
        name = message("speed.spectrum.name")
        yield MorePicture(name, partial(spectrum_picture, told, deck, rpm))
    if told.drift_s:
        yield MorePicture(message("speed.side.name"), partial(drift_picture, told, rpm))


def turn_picture(told: HeardSpeed, rpm: float) -> Picture:
    """Draw speed against its mean round the turn, clockwise from where the tone began."""
    percent = floats(told.turn_percent)
    ring = next((one for one in _RINGS if 1.1 * one >= np.max(np.abs(percent))), _RINGS[-1])
    middles = (np.arange(percent.size) + 0.5) * 2.0 * math.pi / percent.size
    items: list[Item] = [*_rings(ring)]
    peak, fastest = told.once_per_turn_percent, told.fastest_deg
    if peak is not None and fastest is not None:
        items += _once_per_turn(peak / ring, math.radians(fastest))
    x, y = _round(middles, percent / ring)
    items.append(Curve(x, y, MarkRole.NOW, message("speed.turn_seen.heard")))
    step = Quantity(ring, "%", _DECIMALS if ring < 0.1 else 1)
    axis = partial(Axis, message("speed.turn_seen.round"), "%", -_EDGE, _EDGE, shown=False)
    return Picture(
        title=message("speed.turn_seen.title", speed=speed_name(rpm)),
        summary=_turn_said(told),
        x=axis(),
        y=axis(),
        items=tuple(items),
        fixed_aspect=True,
        scale_note=message("speed.turn_seen.rings", step=step),
    )


def _rings(ring: float) -> Iterator[Item]:
    around = np.linspace(0.0, 2.0 * math.pi, _ROUND)
    for away, role in ((-1.0, MarkRole.GUIDE), (0.0, MarkRole.TARGET), (1.0, MarkRole.GUIDE)):
        x, y = _round(around[:-1], np.full(_ROUND - 1, away))
        yield Curve(x, y, role, message("speed.turn_seen.mean") if away == 0.0 else None)
    places = _DECIMALS if ring < 0.1 else 1
    for way, away in (("fast", _MIDDLE + 1.0), ("slow", _MIDDLE - 1.0)):
        said = message("speed.turn_seen.ring", way=way, size=Quantity(ring, "%", places))
        yield Tag(0.0, -away, said, MarkRole.GUIDE)
    for degrees in (0, 90, 180, 270):
        across, up = _at(math.radians(degrees), 1.4)
        said = message("speed.turn_seen.degrees", at=Quantity(degrees, "°", 0))
        yield Tag(across, up, said, MarkRole.GUIDE)


def _once_per_turn(share: float, fastest: float) -> Iterator[Item]:
    """Draw the once-per-turn part alone, and where it is fastest."""
    around = np.linspace(0.0, 2.0 * math.pi, _ROUND)[:-1]
    x, y = _round(around, share * np.cos(around - fastest))
    yield Curve(x, y, MarkRole.PREDICTED, message("speed.turn_seen.alone"))
    ends = _at(fastest, -_MIDDLE), _at(fastest, 1.0)
    xs, ys = zip(*ends, strict=True)
    yield Curve(floats(xs), floats(ys), MarkRole.BEFORE, message("speed.turn_seen.fastest"))


def _turn_said(told: HeardSpeed) -> Message:
    fast, slow = max(told.turn_percent), -min(told.turn_percent)
    ends = {"fast": Quantity(fast, "%", _DECIMALS), "slow": Quantity(slow, "%", _DECIMALS)}
    if told.once_per_turn_percent is None or told.fastest_deg is None:
        return message("speed.turn_seen.said", **ends)
    return message(
        "speed.turn_seen.said_fastest",
        peak=Quantity(told.once_per_turn_percent, "%", _DECIMALS),
        at=Quantity(told.fastest_deg, "°", 0),
        **ends,
    )


def _round(angles: np.ndarray, away: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return a closed line: angles clockwise from the top, `away` from the mean in rings."""
    radius = _MIDDLE + away
    x, y = radius * np.sin(angles), radius * np.cos(angles)
    return np.append(x, x[0]), np.append(y, y[0])


def _at(angle: float, away: float) -> tuple[float, float]:
    radius = _MIDDLE + away
    return radius * math.sin(angle), radius * math.cos(angle)


def spectrum_picture(told: HeardSpeed, deck: Deck, rpm: float) -> Picture:
    """Draw how much varies at each rate, with marks at the turn, and motor and belt if known."""
    hz, peaks = floats(told.spectrum_hz), floats(told.spectrum_percent)
    top = 1.3 * max(float(np.max(peaks)), 0.01)
    low, high = (math.log10(one) for one in _SHOWN_HZ)
    items: list[Item] = []
    marks = [one for one in _marks(deck, rpm) if low <= math.log10(one[1]) <= high]
    for place, (name, rate, role) in enumerate(marks):
        at = math.log10(rate)
        label = message("speed.spectrum.mark", mark=name, at=Quantity(rate, "Hz", 2))
        items.append(Rule("x", at, role, label))
        items.append(
            Tag(at, top * (0.97 - 0.07 * place), message("speed.spectrum.tag", mark=name), role)
        )
    items.append(Curve(np.log10(hz), peaks, MarkRole.NOW, message("speed.spectrum.heard")))
    return Picture(
        title=message("speed.spectrum.title", speed=speed_name(rpm)),
        summary=_spectrum_said(hz, peaks, marks),
        x=Axis(
            message("speed.spectrum.rate"),
            "Hz",
            low,
            high,
            ticks=tuple((math.log10(one), _written(one)) for one in _TICKS_HZ),
        ),
        y=Axis(message("speed.spectrum.peak"), "%", 0.0, top),
        items=tuple(items),
    )


def _written(hz: float) -> Message:
    return message("common.value", value=Quantity(hz, "", 0 if hz >= 1 else 1))


def _marks(deck: Deck, rpm: float) -> Iterator[tuple[str, float, MarkRole]]:
    """Yield the rates of the turning parts: name, hertz, and drawing style."""
    yield "turn", rpm / 60.0, MarkRole.TARGET
    for name, rate, role in (
        ("belt", deck.platter.belt_hz(rpm), MarkRole.PREDICTED),
        ("motor", deck.platter.motor_hz(rpm), MarkRole.DANGER),
    ):
        if rate is not None:
            yield name, rate, role


def _spectrum_said(
    hz: np.ndarray, peaks: np.ndarray, marks: list[tuple[str, float, MarkRole]]
) -> Message:
    most = int(np.argmax(peaks))
    said = message(
        "speed.spectrum.said",
        most=Quantity(float(peaks[most]), "%", _DECIMALS),
        at=Quantity(float(hz[most]), "Hz", 2),
    )
    parts = [said]
    for name, rate, _ in marks:
        near = int(np.argmin(np.abs(np.log(hz / rate))))
        peak = Quantity(float(peaks[near]), "%", _DECIMALS)
        at = Quantity(rate, "Hz", 2)
        parts.append(message("speed.spectrum.there", mark=name, at=at, peak=peak))
    return message("common.in_order", all=Sentences(tuple(parts)))


def drift_picture(told: HeardSpeed, rpm: float) -> Picture:
    """Draw the mean over whole turns from the tone's beginning to its end."""
    at, percent = floats(told.drift_s), floats(told.drift_line_percent)
    long = told.seconds >= _MINUTES_FROM_S
    at = at / 60.0 if long else at
    most = max(float(np.max(np.abs(percent))), 0.01)
    items: list[Item] = [
        Rule("y", 0.0, MarkRole.TARGET, message("speed.side.mean")),
        Curve(at, percent, MarkRole.NOW),
        Points(at, percent, MarkRole.NOW, message("speed.side.turns")),
    ]
    drift = Quantity(abs(told.drift_percent), "%", _DECIMALS)
    way = "faster" if told.drift_percent > 0.0 else "slower"
    lasted = Quantity(told.seconds, "s", 0)
    if long:
        lasted = Quantity(told.seconds / 60.0, "min", 1)
    return Picture(
        title=message("speed.side.title", speed=speed_name(rpm)),
        summary=message("speed.side.said", way=way, drift=drift, lasted=lasted),
        x=Axis(
            message("speed.side.since"),
            "min" if long else "s",
            0.0,
            told.seconds / 60.0 if long else told.seconds,
        ),
        y=Axis(message("speed.side.beside"), "%", -1.3 * most, 1.3 * most),
        items=tuple(items),
    )
