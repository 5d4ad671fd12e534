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
from importlib.resources.abc import Traversable
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

_KEYS_IN_DATA: Final = ("by", "caution", "cautions", "does", "fields")
"""Names in files of words whose values are no words."""

_PLACE: Final = re.compile(r"\{(\w+)\}")
_ACCENTS: Final = str.maketrans("aeiouAEIOU", "àéîöüÀÉÎÖÜ")


def rendered(message: Message, write: Write, language: str = ENGLISH) -> str:
    """Return the sentence of a message; ``write`` makes words of one value.

    A missing key or place is a mistake of the program: KeyError.
    """
    if language == KEYS:
        return message.key
    texts = _pieces(_variant(template_of(message.key, language), message))
    values = message.values
    said = "".join(write(values[text]) if place % 2 else text for place, text in enumerate(texts))
    if message.short is not None and len(said) > LONGEST_HEADLINE:
        return rendered(message.short, write, language)
    return said


def labelled(text: str, language: str = ENGLISH) -> str:
    """Return words that stand in a model in another language; in English as they stand."""
    if language in (ENGLISH, KEYS):
        return text
    return longer(text) if language == LONGER else _labels(language).get(text, text)


def template_of(key: str, language: str = ENGLISH) -> Template:
    """Return the template of a key; KeyError if there is none."""
    room, _, rest = key.partition(".")
    return templates(room, language)[rest]


def has_template(key: str) -> bool:
    """Whether there is a template of this key."""
    room, _, rest = key.partition(".")
    return room in rooms() and rest in templates(room)


@cache
def templates(room: str, language: str = ENGLISH) -> dict[str, Template]:
    """Return all templates of one file by the rest of their keys."""
    found: dict[str, Template] = {}
    _collect(worded_data(f"messages/{room}.toml", language), "", found)
    return found


def worded_data(path: str, language: str = ENGLISH) -> dict[str, Any]:
    """Return a file of words in resources, each text in a language where it has one.

    FileNotFoundError if there is no such file in English.
    """
    english = _data(files("resources").joinpath(path))
    if language in (ENGLISH, KEYS):
        return english
    if language == LONGER:
        made: dict[str, Any] = _lengthened(english)
        return made
    try:
        own = _data(_folder(language).joinpath(path))
    except FileNotFoundError:
        return english
    return _filled(own, english)


@cache
def step_title(name: str, language: str = ENGLISH) -> str:
    """Return a step's title alone; FileNotFoundError if it has no words.

    The lists of the first screen name steps and need no more of their words.
    """
    return str(worded_data(f"steps/{name}.toml", language)["title"])


def rooms() -> tuple[str, ...]:
    """Return the names of all files of templates."""
    folder = files("resources").joinpath("messages")
    return tuple(sorted(f.name.removesuffix(".toml") for f in folder.iterdir() if f.is_file()))


def _folder(language: str) -> Traversable:
    return files("resources").joinpath("languages", language)


@cache
def _labels(language: str) -> dict[str, str]:
    try:
        return _data(_folder(language).joinpath("labels.toml"))
    except FileNotFoundError:
        return {}


def _data(source: Traversable) -> dict[str, Any]:
    return tomllib.loads(source.read_text(encoding="utf-8"))


def _filled(own: Mapping[str, Any], english: Mapping[str, Any]) -> dict[str, Any]:
    """Return a language's own texts, and the English ones for all that it lacks."""
    return {
        name: _filled(own[name], text)
        if isinstance(text, dict) and name in own
        else own.get(name, text)
        for name, text in english.items()
    } | {name: text for name, text in own.items() if name not in english}


def _collect(table: Mapping[str, Any], prefix: str, found: dict[str, Template]) -> None:
    for name, value in table.items():
        key = f"{prefix}{name}"
        if isinstance(value, str) or "by" in value:
            found[key] = value
        else:
            _collect(value, f"{key}.", found)


@cache
def _pieces(template: str) -> tuple[str, ...]:
    """Return words and names of places in turn; words come first."""
    return tuple(_PLACE.split(template))


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


def _lengthened(data: Any) -> Any:
    """Return data of words in the trial language; keys and what names keys stay."""
    match data:
        case str():
            return longer(data)
        case dict():
            return {
                name: one
                if name in _KEYS_IN_DATA and not isinstance(one, dict)
                else _lengthened(one)
                for name, one in data.items()
            }
        case list():
            return [_lengthened(one) for one in data]
    return data


def longer(template: str) -> str:
    """Return a text in the trial language; its places, and a letter that is a key, untouched."""
    pieces = re.split(r"(\{\w+\}|&\w)", template)
    said = "".join(p if p[:1] in ("{", "&") else p.translate(_ACCENTS) for p in pieces)
    letters = sum(len(p) for p in pieces if not p.startswith("{"))
    return f"{said} {'ßüß' * max(1, letters // 6)}" if letters > 3 else said
