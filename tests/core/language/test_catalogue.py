"""Every message said in the code has its template, with the same places, and none is left over."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

from core.language import Message, Name, Numbers, Quantity, Series, catalogue, message
from core.language.catalogue import KEYS, LONGER, rooms, template_of, templates

ROOT = Path(__file__).resolve().parents[3]


@cache
def said() -> tuple[tuple[str, str, frozenset[str] | None], ...]:
    """Return place in the code, key and names of values; None where they are not literal."""
    found: list[tuple[str, str, frozenset[str] | None]] = []
    for package in ("core", "desktop"):
        for path in sorted((ROOT / package).rglob("*.py")):
            found.extend(_said_in(path))
    return tuple(found)


def _said_in(path: Path) -> Iterator[tuple[str, str, frozenset[str] | None]]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if not isinstance(node, ast.Call) or getattr(node.func, "id", "") not in (
            "message",
            "Message",
            "tr",
        ):
            continue
        place = f"{path.relative_to(ROOT)}:{node.lineno}"
        if path.name in ("messages.py", "catalogue.py", "language.py"):
            continue
        first = node.args[0] if node.args else None
        assert isinstance(first, ast.Constant), f"{place}: a key is written out, not put together"
        names = [word.arg for word in node.keywords]
        known = None if None in names or len(node.args) > 1 else frozenset(map(str, names))
        yield place, str(first.value), known


@cache
def constants() -> frozenset[str]:
    """Return every string of the code: what is stored of a message is its key."""
    paths = (path for package in ("core", "desktop") for path in (ROOT / package).rglob("*.py"))
    nodes = (node for path in paths for node in ast.walk(ast.parse(path.read_text("utf-8"))))
    found = (node.value for node in nodes if isinstance(node, ast.Constant))
    return frozenset(word for value in found if isinstance(value, str) for word in value.split())


def places(template: object) -> set[str]:
    texts = [template] if isinstance(template, str) else list(dict(template).values())  # type: ignore[call-overload]  # a table of variants
    named = {name for text in texts for name in re.findall(r"\{(\w+)\}", text)}
    return named if isinstance(template, str) else named | {dict(template)["by"]}  # type: ignore[call-overload]  # the same


def test_every_message_has_its_template_and_fills_every_place() -> None:
    for place, key, names in said():
        try:
            template = template_of(key)
        except (KeyError, FileNotFoundError):
            pytest.fail(f"{place}: no template for {key}")
        if names is not None:
            assert places(template) == names, f"{place}: {key}"


def test_no_template_is_left_over() -> None:
    used = {key for _, key, _ in said()} | constants()
    left = [f"{room}.{key}" for room in rooms() for key in templates(room)]
    assert [key for key in left if key not in used] == []


def test_variants_are_chosen_by_word_and_by_number(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(
        "core.language.catalogue.templates",
        lambda _room, _language: {
            "side": {"by": "side", "left": "Left: {size}", "right": "Right: {size}"},
            "more": {"by": "n", "one": "once", "2": "twice", "other": "{n} times"},
        },
    )
    say = Numbers(",")
    assert (
        say.text(message("x.side", side="left", size=Quantity(1.5, "mm", 1))) == "Left: 1,5\u00a0mm"
    )
    assert [say.text(message("x.more", n=n)) for n in (1, 2, 3)] == ["once", "twice", "3 times"]
    assert Numbers(language=KEYS).text(message("x.more", n=3)) == "x.more"
    assert "3" in Numbers(language=LONGER).text(message("x.more", n=3))
    with pytest.raises(KeyError):
        say.text(message("x.side", side="left"))


def test_what_is_a_persons_own_stays_as_it_is() -> None:
    say = Numbers()
    assert say.text("{side}") == "{side}"
    assert say.value(Name("<b>{side}</b>")) == "<b>{side}</b>"
    assert say.value(Series((Name("a"), Name("b"), Name("c")), "or")) == "a, b or c"
    with pytest.raises(TypeError, match="only chooses"):
        say.value("left")


def test_messages_compare_by_what_they_say() -> None:
    assert message("a.b", n=1) == Message("a.b", {"n": 1}) != message("a.b", n=2)


def test_a_sentence_too_long_for_a_headline_is_said_in_its_short_form(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    own = {"all": "{names}.", "some": "{n} feet."}
    monkeypatch.setattr(
        "core.language.catalogue.templates",
        lambda room, language: own if room == "x" else templates(room, language),
    )
    names = Series((Name("left"), Name("right")))
    few = Message("x.all", {"names": names}, message("x.some", n=2))
    many = Message("x.all", {"names": Series((Name("rear" * 20),))}, message("x.some", n=1))
    assert Numbers().text(few) == "left and right."
    assert Numbers().text(many) == "1 feet."


def test_a_language_that_is_a_folder_says_what_it_has_and_the_rest_in_english(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    own = tmp_path / "xx" / "messages"
    own.mkdir(parents=True)
    (own / "history.toml").write_text('height = "Hoogte"\n', encoding="utf-8")
    (tmp_path / "xx" / "labels.toml").write_text('"Name" = "Naam"\n', encoding="utf-8")
    monkeypatch.setattr(catalogue, "_folder", lambda language: tmp_path / language)
    numbers = Numbers(language="xx")
    assert numbers.text(message("history.height")) == "Hoogte"
    assert numbers.text(message("history.pitch")) == Numbers().text(message("history.pitch"))
    assert numbers.label("Name") == "Naam"
    assert numbers.label("Make") == "Make"
