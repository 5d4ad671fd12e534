"""The colour schemes by name. No Qt here: the command line is read before Qt is loaded."""

from __future__ import annotations

from typing import Literal

Scheme = Literal["light", "dark", "system"]
