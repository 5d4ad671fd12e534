"""Amounts a hand turns, in words."""

from __future__ import annotations

from core.language import NO_BREAK, Numbers


def turn_words(turns: float, numbers: Numbers) -> str:
    """Return the size of a turn: eighths where it is one, else decimals with degrees beside.

    ``¾ turn``, ``1 ⅜ turns``, ``0.19 turn (68°)``, ``1.19 turns``.
    """
    size = abs(turns)
    if size > 0.06 and abs(size * 8.0 - round(size * 8.0)) < 1e-6:
        return numbers.turns(size)
    word = "turn" if size <= 1.0 else "turns"
    degrees = f" ({numbers.unit(size * 360.0, '°', 0)})" if size < 1.0 else ""
    return f"{numbers.short(size, 2)}{NO_BREAK}{word}{degrees}"
