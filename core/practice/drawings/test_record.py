"""Drawings of what a test record tells: levels of both channels, and which breaks up first."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Final

from core.drawing.drawing import Drawing
from core.drawing.marks import Mark
from core.drawing.roles import Ink, Role
from core.language import Numbers
from core.practice.drawings import parts

_WIDE: Final = 100.0
_LOW_DB: Final = -50.0
_HIGH_DB: Final = 10.0
_METERS: Final = (
    ("left_band_left_db", "left band", "left channel", Role.LEFT),
    ("left_band_right_db", "left band", "right channel", Role.RIGHT),
    ("right_band_right_db", "right band", "right channel", Role.RIGHT),
    ("right_band_left_db", "right band", "left channel", Role.LEFT),
)


def meters(levels_db: Mapping[str, float], numbers: Numbers) -> Drawing:
    """Draw the levels of both channels on either band: a bar each, and its figures."""
    items: list[Mark] = []
    told = []
    for row, (key, band, channel, ink) in enumerate(_METERS):
        y, level = 72.0 - 20.0 * row - (3.0 if row > 1 else 0.0), levels_db[key]
        scale = parts.DrawnScale(key, _LOW_DB, _HIGH_DB, (3.0, y), (67.0, y))
        end = scale.place(max(min(level, _HIGH_DB), _LOW_DB))[0]
        items += [
            parts.words(3.0, y + 9.8, f"{band}: {channel}", 4.4, align="left", bold=True),
            parts.box(3.0, y, 67.0, y + 6.0, Ink.GLASS),
            parts.box(3.0, y, end, y + 6.0, ink, f"{key}@"),
            *scale.lines(5.0, 10.0, 10.0, -1.6),
            *scale.figures(10.0, -4.2, lambda value: numbers.plain(value, 0), 3.4),
            *parts.shown_in(70.0, y - 1.0, 99.0, y + 8.0, numbers.unit(level, "dB", 1), 5.0, key),
        ]
        told.append(f"{band}, {channel} {numbers.unit(level, 'dB', 1)}")
    return Drawing(
        "Level meters",
        f"Level meters: {'; '.join(told)}.",
        _WIDE,
        87.0,
        tuple(items),
        "Each band plays one channel only; the other shows what leaks into it.",
    )


_BANDS: Final = 5
_FIRST_TORN: Final = 3


def bands(broke: str, numbers: Numbers, setting: float = 0.0) -> Drawing:
    """Draw what both channels look like in five bands, each louder than the one before."""
    items: list[Mark] = []
    starts = {"left": (3, 4), "right": (4, 3), "together": (3, 3)}[broke]
    for name, y, begins, ink in (
        ("left", 44.0, starts[0], Role.LEFT),
        ("right", 20.0, starts[1], Role.RIGHT),
    ):
        items.append(parts.words(2.0, y, name, 4.6, ink, "left", bold=True))
        for band in range(1, _BANDS + 1):
            x = 16.0 + 16.8 * (band - 1)
            torn = band >= begins
            points = parts.wave(x + 1.0, x + 15.0, y, 3.5 + 1.1 * band, _torn if torn else _clean)
            items += [
                parts.rounded(
                    x,
                    y - 11.0,
                    x + 16.0,
                    y + 11.0,
                    1.0,
                    Ink.GLASS,
                    f"{name} band {band} {'torn' if torn else 'clean'}",
                ),
                parts.line(*points, colour=ink, width=0.6),
            ]
    for band in range(1, _BANDS + 1):
        items.append(parts.words(24.0 + 16.8 * (band - 1), 59.0, f"{band}", 4.6, bold=True))
    items += [
        parts.words(2.0, 59.0, "band", 4.2, align="left"),
        parts.words(2.0, 4.0, f"Set to {numbers.short(setting, 2)}", 4.4, align="left", bold=True),
        parts.words(99.0, 4.0, "each band louder than the last ▸", 4.0, Ink.FAINT, "right"),
    ]
    told = {
        "left": "the left channel breaks up first",
        "right": "the right channel breaks up first",
        "together": "both channels break up in the same band",
    }[broke]
    return Drawing(
        "Rising test bands",
        f"Set to {numbers.short(setting, 2)}. As the bands get louder, {told}.",
        _WIDE,
        64.0,
        tuple(items),
        "A smooth wave is clean; a cut and ragged one has broken up. Which row has it first?",
    )


def _clean(periods: float) -> float:
    return math.sin(2.0 * math.pi * periods)


def _torn(periods: float) -> float:
    cut = max(-0.72, min(0.72, 1.7 * _clean(periods)))
    return cut + 0.22 * math.sin(14.0 * math.pi * periods)
