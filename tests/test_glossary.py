"""The house's words are kept wherever a person reads: no stray word, the trade's word once."""

from __future__ import annotations

import ast
import json
import re
import tomllib
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from core.language import step_text

ROOT = Path(__file__).parents[1]
RESOURCES = ROOT / "resources"
LEAFLET = "core/records/cartridge"
"""What a cartridge's leaflet states is asked for by the name it has there."""
PLACE = re.compile(r"\{\w+\}|&(?=\w)")


@cache
def glossary() -> dict[str, Any]:
    return tomllib.loads((RESOURCES / "glossary.toml").read_text(encoding="utf-8"))


def texts(data: Any, path: str) -> Iterator[tuple[str, str]]:
    """Yield every text in nested data and where it stands."""
    match data:
        case str():
            yield path, data
        case dict():
            for name, one in data.items():
                if name not in ("by", "caution", "cautions", "controls", "does", "fields"):
                    yield from texts(one, f"{path}.{name}" if path else name)
        case list():
            for number, one in enumerate(data, 1):
                yield from texts(one, f"{path} {number}")


def fields() -> Iterator[tuple[str, str]]:
    """Yield the title and the description of every field of a record or a reading."""
    for room in ("core/records", "core/steps"):
        for path in sorted((ROOT / room).rglob("*.py")):
            for call in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if not isinstance(call, ast.Call):
                    continue
                for given in call.keywords:
                    value = given.value
                    if given.arg in ("title", "description") and isinstance(value, ast.Constant):
                        yield f"{path.relative_to(ROOT)}, line {value.lineno}", str(value.value)


def choices() -> Iterator[tuple[str, str]]:
    """Yield the label of everything that is chosen or shown as a state."""
    for room in ("core", "desktop"):
        for path in sorted((ROOT / room).rglob("*.py")):
            for kind in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if not isinstance(kind, ast.ClassDef):
                    continue
                if "Choice" not in {getattr(base, "id", "") for base in kind.bases}:
                    continue
                for given in kind.body:
                    value = getattr(given, "value", None)
                    if isinstance(value, ast.Tuple) and isinstance(value.elts[-1], ast.Constant):
                        place = f"{path.relative_to(ROOT)}, line {value.lineno}"
                        yield place, str(value.elts[-1].value)


@cache
def told() -> tuple[tuple[str, str], ...]:
    """Return every sentence that is told to a person, and the place it stands at."""
    return tuple(_told())


def _told() -> Iterator[tuple[str, str]]:
    yield from fields()
    yield from choices()
    for path in sorted(RESOURCES.rglob("*.toml")):
        if path.name != "glossary.toml":
            data = tomllib.loads(path.read_text(encoding="utf-8"))
            for where, text in texts(data, ""):
                yield f"{path.relative_to(RESOURCES)}: {where}", PLACE.sub("", text)
    for path in sorted((ROOT / "profiles").glob("*.json")):
        for where, text in texts(json.loads(path.read_text(encoding="utf-8")), ""):
            if where.rpartition(".")[2] in ("name", "notes", "title"):
                yield f"profiles/{path.name}: {where}", text
    readme = re.sub(
        r"```.*?```|`[^`]*`", "", (ROOT / "README.md").read_text("utf-8"), flags=re.DOTALL
    )
    for number, paragraph in enumerate(readme.split("\n\n"), 1):
        yield f"README.md, paragraph {number}", paragraph.replace("\n", " ")


@cache
def pattern(word: str) -> re.Pattern[str]:
    """Return what finds a word or phrase of the glossary as whole words."""
    stem = re.escape(word.removesuffix("*")).replace(r"\ ", r"\s+")
    end = r"\w*" if word.endswith("*") else r"(?!\w)"
    return re.compile(rf"(?<!\w){stem}{end}", re.IGNORECASE)


def strays(text: str) -> list[str]:
    """Return the forbidden words in a text, each with what to say instead."""
    return [
        f"“{word}”: say “{better}”"
        for word, better in glossary()["instead"].items()
        if pattern(word).search(text)
    ]


def page_of(name: str, *, parallel: bool, way: str | None) -> str:
    """Return all that a step's page says of itself, with one way of reading or without any."""
    text = step_text(name, parallel=parallel)
    lines = (*text.moving, *(text.ways[way].lines if way else ()))
    own = (text.title, text.short, text.why, text.why_now, *text.need, text.skip)
    return "\n".join((*own, *(line.text for line in lines)))


def test_no_forbidden_word_is_said() -> None:
    found = [f"{where}: {stray}" for where, text in told() for stray in strays(text)]
    assert found == []


def test_no_word_stands_twice_running() -> None:
    """“Length off by 1.2 mm too long” began so: a label and its value that say the same."""
    twice = re.compile(r"\b([a-z]+) \1\b", re.IGNORECASE)
    found = [f"{where}: {text}" for where, text in told() if twice.search(text)]
    assert found == []


def test_what_is_chosen_is_read_too() -> None:
    assert {"Left as found", "Set again", "Handed over"} <= {label for _, label in choices()}


def test_a_forbidden_word_fails_with_its_replacement() -> None:
    assert strays("Lower the NEEDLE onto the vinyl.") == [
        "“vinyl”: say “record”",
        "“needle”: say “stylus”",
    ]
    assert strays("Aborting now") == ["“abort*”: say “stop”"]
    assert strays("A needless shallow fatality") == []


def test_everything_a_person_reads_is_looked_at() -> None:
    places = [where for where, _ in told()]
    for beginning in (
        "messages/level",
        "steps/tilt",
        "cautions",
        "profiles/deck",
        "README.md",
        "core/records/deck",
        "core/steps/tilt/readings",
    ):
        assert any(where.startswith(beginning) for where in places), beginning
    assert len(places) > 2000


def test_the_trades_words_stand_nowhere_else() -> None:
    """Ours is the word of the program; the trade's is said on its page and in the help only."""
    found = [
        f"{where}: “{word}”, say “{entry['ours']}”"
        for entry in glossary()["trade"]
        for where, text in told()
        if "help" not in where
        and not where.startswith(LEAFLET)
        and not where.startswith(tuple(f"steps/{n}" for n in entry["pages"]))
        for word in entry["theirs"]
        if pattern(word).search(text)
    ]
    assert found == []


@pytest.mark.parametrize("parallel", [False, True])
def test_the_trades_word_stands_beside_ours_once_a_page(parallel: bool) -> None:
    kind = "parallel" if parallel else "pivoted"
    for entry in glossary()["trade"]:
        for name in entry["pages"]:
            ways = set(step_text(name, parallel=parallel).ways)
            ways = {"path"} if parallel and "path" in ways else ways - {"path"}
            for way in ways if entry.get("arm", kind) == kind else ():
                said = page_of(name, parallel=parallel, way=way)
                expected = 1 if way in entry.get("once_in", ways) else 0
                assert said.count(entry["beside"]) == expected, (name, way, entry["beside"])
                rest = said.replace(entry["beside"], "")
                assert not any(pattern(word).search(rest) for word in entry["theirs"]), (name, way)
