"""The names of steps that other steps read figures of: steps do not import each other."""

from __future__ import annotations

from typing import Final

ALIGNMENT: Final = "alignment"
