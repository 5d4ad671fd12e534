"""Parts of a widget that are made together when the first of them is needed."""

from __future__ import annotations

from typing import Generic, Protocol, Self, TypeVar, cast, overload

Part = TypeVar("Part")


class MakesParts(Protocol):
    """A widget that makes its parts in one go."""

    def make(self) -> None:
        """Make every part."""


class MadeLate(Generic[Part]):
    """An attribute whose first use makes the widget's parts, this one among them."""

    def __set_name__(self, _owner: type, name: str) -> None:
        self._name = name

    @overload
    def __get__(self, widget: None, _owner: type) -> Self: ...
    @overload
    def __get__(self, widget: MakesParts, _owner: type | None = None) -> Part: ...
    def __get__(self, widget: MakesParts | None, _owner: type | None = None) -> Part | Self:
        if widget is None:
            return self
        self.ensure(widget)
        return cast("Part", widget.__dict__[self._name])

    def __set__(self, widget: MakesParts, part: Part) -> None:
        widget.__dict__[self._name] = part

    @staticmethod
    def ensure(widget: MakesParts) -> None:
        """Make the parts if nobody needed one yet."""
        if not widget.__dict__.get("_is_made"):
            widget.__dict__["_is_made"] = True  # at once: parts use each other while they are made
            widget.make()
