"""What is said in a terminal, before there is a window; no Qt here.

A terminal is told in English: nobody has chosen a language there. The templates are read without
the catalogue, whose values bring the records along: help would wait for them.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from functools import cache
from typing import Any

Say = Callable[..., str | None]
"""Returns the sentence of a message by its key; None where nobody will read it."""


def tr(key: str, /, **typed: str) -> str:
    """Return the sentence of a message in English, with words as they were typed."""
    room, *names = key.split(".")
    template: Any = _templates(room)
    for name in names:
        template = template[name]
    return str(template).format(**typed)


@cache
def _templates(room: str) -> dict[str, Any]:
    from importlib.resources import files  # most commands say nothing

    source = files("resources").joinpath("messages", f"{room}.toml")
    return tomllib.loads(source.read_text(encoding="utf-8"))
