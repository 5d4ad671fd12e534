"""The templates of all messages, read from resources, and sentences made of them.

``resources/messages/speed.toml`` holds the templates whose keys begin with ``speed.``. A template
is one whole text with named places, or a table of variants::

    runs_slow = "{speed} runs {error} slow"

    [once_more]
    by = "count"
    one = "Read once more."
    other = "Read {count} times more."

``by`` names the value that chooses: a plain string by itself, a whole number first by itself
(``2 = ...``), then by the plural category of the language (Unicode CLDR names).
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Mapping
from functools import cache
from importlib.resources import files
from typing import Any, Final

from core.language.messages import Message, Value

Template = str | Mapping[str, str]
Write = Callable[[Value], str]

ENGLISH: Final = "en"
KEYS: Final = "keys"
"""Not a language: every message is written as its key, so that nothing can read sentences."""
LONGER: Final = "longer"
"""Not a language: English with accents and half as long again, to try pages with."""

LONGEST_HEADLINE: Final = 80
"""A message that has a short form is said in it where it has more letters than this."""

_PLACE: Final = re.compile(r"\{(\w+)\}")
_ACCENTS: Final = str.maketrans("aeiouAEIOU", "àéîöüÀÉÎÖÜ")


def rendered(message: Message, write: Write, language: str = ENGLISH) -> str:
    """Return the sentence of a message; ``write`` makes words of one value.

    A missing key or place is a mistake of the program: KeyError.
    """
    if language == KEYS:
        return message.key
    template = _variant(template_of(message.key), message)
    if language == LONGER:
        template = _longer(template)
    said = _PLACE.sub(lambda place: write(message.values[place.group(1)]), template)
    if message.short is not None and len(said) > LONGEST_HEADLINE:
        return rendered(message.short, write, language)
    return said


def labelled(text: str, language: str = ENGLISH) -> str:
    """Return words that stand in a model in another language; in English as they stand."""
    return _longer(text) if language == LONGER else text


def template_of(key: str) -> Template:
    """Return the template of a key; KeyError if there is none."""
    room, _, rest = key.partition(".")
    return templates(room)[rest]


@cache
def templates(room: str) -> dict[str, Template]:
    """Return all templates of one file by the rest of their keys."""
    source = files("resources").joinpath("messages", f"{room}.toml").read_text(encoding="utf-8")
    found: dict[str, Template] = {}
    _collect(tomllib.loads(source), "", found)
    return found


def rooms() -> tuple[str, ...]:
    """Return the names of all files of templates."""
    folder = files("resources").joinpath("messages")
    return tuple(sorted(f.name.removesuffix(".toml") for f in folder.iterdir() if f.is_file()))


def _collect(table: Mapping[str, Any], prefix: str, found: dict[str, Template]) -> None:
    for name, value in table.items():
        key = f"{prefix}{name}"
        if isinstance(value, str) or "by" in value:
            found[key] = value
        else:
            _collect(value, f"{key}.", found)


def _variant(template: Template, message: Message) -> str:
    if isinstance(template, str):
        return template
    chosen = message.values[template["by"]]
    if isinstance(chosen, int):
        return template.get(str(chosen)) or template.get(_plural(chosen)) or template["other"]
    if isinstance(chosen, str):
        return template.get(str(chosen)) or template["other"]
    raise TypeError(f"{message.key}: '{template['by']}' can't choose a variant")


def _plural(count: int) -> str:
    """Return the plural category of a whole number in English (Unicode CLDR)."""
    return "one" if count == 1 else "other"


def _longer(template: str) -> str:
    """Return a template in the trial language, its places untouched."""
    pieces = re.split(r"(\{\w+\})", template)
    said = "".join(p if p.startswith("{") else p.translate(_ACCENTS) for p in pieces)
    words = sum(len(p.split()) for p in pieces if not p.startswith("{"))
    return f"{said} {' '.join(['ßüß'] * (words // 2))}".rstrip()
