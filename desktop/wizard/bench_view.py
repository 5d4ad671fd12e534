"""The drawing for the hand: where the instrument goes, or which control to turn and how far."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

from PySide6.QtWidgets import QWidget

from core.drawing.drawing import Drawing
from core.fitting import MovePart, Trial
from core.language import Numbers
from core.records import Cartridge, Deck
from core.steps.bench_drawing import (
    BenchScene,
    draw_move,
    draw_raised,
    draw_reading,
    scene_after,
    stood_after,
)
from desktop.charts.instrument_view import InstrumentView

_RATIO: Final = 0.66


class BenchView(InstrumentView):
    """A drawing that is made again only when its content has changed."""

    OF_WINDOW = 0.36
    TALL_EM = 16.0
    USED_FIGURES: Final = frozenset({"wanted_null_inner", "wanted_null_outer", "wanted_overhang"})
    """Keys of the figures that a drawing shows."""
    USED_VALUES: Final = frozenset({"setting"})
    """Fields of the next reading for which a drawing shows what is asked."""

    def __init__(self, step: str, numbers: Numbers, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._step = step
        self._numbers = numbers
        self._shown: tuple[object, ...] = ()

    def show_reading(
        self,
        deck: Deck,
        cartridge: Cartridge,
        way: str,
        values: Mapping[str, Any],
        *,
        wanted: Mapping[str, float],
        at_rest: bool = False,
        raised: bool = False,
        trials: Sequence[Trial] = (),
    ) -> None:
        """Show how a reading is taken, with the input so far; ``at_rest`` while none is.

        With ``raised`` the stylus must stay up: the arm is drawn in its rest. ``wanted`` are
        figures of the step's target by their keys, and what is asked of the reading; ``trials``
        are what was read and moved before.
        """
        typed = tuple(sorted((key, str(value)) for key, value in values.items()))
        told = tuple(wanted.items())
        if self._is_new((way, typed, id(deck), id(cartridge), told, at_rest, raised, len(trials))):
            scene = BenchScene(
                deck,
                cartridge,
                self._numbers,
                stood_after(trials),
                wanted=wanted,
                at_rest=at_rest,
            )
            draw = draw_raised if raised else draw_reading
            self.show_drawing(draw(scene, self._step, way, values))

    def show_move(
        self,
        deck: Deck,
        cartridge: Cartridge,
        parts: Sequence[MovePart],
        trials: Sequence[Trial] = (),
    ) -> None:
        """Show a move from the position of the last of the ``trials``."""
        if self._is_new((tuple(parts), len(trials), id(deck), id(cartridge))):
            scene = scene_after(deck, cartridge, self._numbers, trials)
            self.show_drawing(draw_move(scene, parts))

    def _say(self, drawing: Drawing | None) -> None:
        """Give the title to screen readers: it says all that is drawn."""
        self.setAccessibleName(drawing.title if drawing is not None else "")

    def _ratio(self) -> float:
        """Return one height for all drawings, so that nothing moves when they change."""
        return _RATIO

    def _is_new(self, what: tuple[object, ...]) -> bool:
        if what == self._shown:
            return False
        self._shown = what
        return True
