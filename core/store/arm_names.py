"""Arm names stored in a deck's row, so that lists need not read the record."""

from __future__ import annotations

from core.records import Deck, FurtherArm, first_arm


def arms_text(deck: Deck) -> str:
    """Return key, name and archived flag of every arm; empty for a deck with one arm."""
    if not deck.further_arms:
        return ""
    arms = (first_arm(deck), *deck.further_arms)
    away = (isinstance(arm, FurtherArm) and arm.put_away for arm in arms)
    return "\n".join(
        "\t".join((_plain(arm.key), _plain(arm.name), "away" if gone else ""))
        for arm, gone in zip(arms, away, strict=True)
    )


def named_in(text: str) -> dict[str, str]:
    """Parse the text of :func:`arms_text` into names by key."""
    return {key: name for key, name, _ in _lines(text)}


def in_use_in(text: str) -> frozenset[str]:
    """Return the keys of the arms that are not archived."""
    return frozenset(key for key, _, away in _lines(text) if not away)


def _lines(text: str) -> list[tuple[str, str, str]]:
    lines = (line.split("\t") for line in text.split("\n") if text)
    return [(key, name, away) for key, name, away in lines]


def _plain(words: str) -> str:
    return " ".join(words.split())
