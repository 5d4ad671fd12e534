"""Every text has one kind of quotation mark, apostrophe and dash."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from typing import Any, Final

import pytest

from tests.test_glossary import RESOURCES, fields

KINDS: Final = {
    "an apostrophe is straight: can't": re.compile(r"[’‘`´]"),
    "quotation marks are “ and ”": re.compile(r"[\"„«»‹›]|(?<![\w”])'|(?<!s)'(?!\w)"),
    "each “ has its ”": re.compile(r"^[^“”]*”|“[^”]*“|“[^”]*$"),
    "a dash is – between spaces": re.compile(r"—|―|(?<!\S)--(?!\w)|\w--| - |\w–\w|\w– | –\w"),
    "an ellipsis is one sign: …": re.compile(r"\.\.\."),
}
SIGNS: Final = {
    "; - makes it smaller": "the key of the minus sign",
}
"""Signs that are meant as such, and why."""


def texts() -> Iterator[tuple[str, str]]:
    """Yield every text of the resources, and where it stands."""
    for path in sorted(RESOURCES.rglob("*.toml")):
        if path.name != "glossary.toml":  # it lists what must not be said
            data = tomllib.loads(path.read_text(encoding="utf-8"))
            yield from _inside(data, path.name)
    yield from fields()


def _inside(data: Any, where: str) -> Iterator[tuple[str, str]]:
    match data:
        case str():
            yield where, data
        case dict():
            for name, one in data.items():
                yield from _inside(one, f"{where} {name}")
        case list():
            for one in data:
                yield from _inside(one, where)


def wrong_in(text: str, kind: str) -> bool:
    for sign in SIGNS:
        text = text.replace(sign, "")
    return KINDS[kind].search(text) is not None


@pytest.mark.parametrize("kind", KINDS)
def test_all_texts_agree(kind: str) -> None:
    """Straight and curly quotation marks stood on one page, for the same thing."""
    wrong = [f"{where}: {text}" for where, text in texts() if wrong_in(text, kind)]
    assert wrong == []


@pytest.mark.parametrize(
    ("kind", "text"),
    [
        ("an apostrophe is straight: can't", "It can’t."),
        ("quotation marks are “ and ”", "Do 'Level' first."),
        ("each “ has its ”", "Do “Level first."),
        ("a dash is – between spaces", "Kept - by choice"),
        ("an ellipsis is one sign: …", "Open..."),
    ],
)
def test_another_kind_is_found(kind: str, text: str) -> None:
    assert wrong_in(text, kind)
    assert not any(wrong_in("The decks' owner said “can't” – so…", one) for one in KINDS)


def test_every_sign_that_is_let_through_is_there() -> None:
    whole = "\n".join(text for _, text in texts())
    assert [sign for sign in SIGNS if sign not in whole] == []
