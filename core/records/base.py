"""The base of everything a person describes."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict


class FrozenModel(BaseModel):
    """Base of everything a person describes: frozen, and no field unknown to us is taken.

    What checks its values is built at the first use: the list of decks, shown first, needs none of
    it. A thread may be the first to use it, which pydantic locks from 2.14 on.
    """

    model_config = ConfigDict(
        frozen=True, extra="forbid", str_strip_whitespace=True, defer_build=True
    )


def build_models() -> None:
    """Build now what checks the values of all models known so far."""
    models = [FrozenModel]
    for model in models:
        model.model_rebuild()
        models.extend(model.__subclasses__())
