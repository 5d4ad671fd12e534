"""The base of everything a person describes."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict


class FrozenModel(BaseModel):
    """Base of everything a person describes: frozen, and no field unknown to us is taken."""

    model_config = ConfigDict(frozen=True, extra="forbid", str_strip_whitespace=True)
