"""Decks with finished fittings, put straight into the library; and plans made up by hand."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from core.fitting import (
    Entry,
    Finished,
    Fitting,
    MoveMade,
    ReadingTaken,
    StepAccepted,
    Verdict,
    new_id,
)
from core.records import Cartridge, Deck
from core.steps import STEP_NAMES
from core.store import Library
from core.workflow.replay import journey_of
from tests.worked import BEGAN, READINGS, Read

MOST_TURNS = 12
CALM: dict[str, list[Read]] = {
    step: readings[-2:] if step == "level" else readings[-1:] for step, readings in READINGS.items()
}
"""Readings of a deck on which nothing has to be moved."""


def finished(
    library: Library,
    deck_id: str,
    cartridge_id: str,
    *,
    at: datetime = BEGAN,
    readings: dict[str, list[Read]] | None = None,
    finish: bool = True,
    until: str = "",
) -> str:
    """Work a fitting through as a person does who follows every move; return its id.

    What passes is accepted, anything else is kept with a reason. ``until`` is the first step left
    alone.
    """
    deck, cartridge = library.deck(deck_id), library.cartridge(cartridge_id)
    fitting = Fitting(
        id=new_id(),
        deck_id=deck_id,
        deck_revision=deck.revision,
        cartridge_id=cartridge_id,
        cartridge_revision=cartridge.revision,
        started_at=at,
        who="A. Tester",
    )
    hand = _Hand(deck.thing, cartridge.thing, fitting)
    given = READINGS if readings is None else readings
    for step in STEP_NAMES:
        if step == until:
            break
        hand.work(step, given.get(step, []))
    if finish:
        hand.keep(Finished())
    library.log.add(hand.fitting)
    return fitting.id


class _Hand:
    def __init__(self, deck: Deck, cartridge: Cartridge, fitting: Fitting) -> None:
        self.deck, self.cartridge, self.fitting = deck, cartridge, fitting

    def keep(self, body: Any) -> None:
        at = self.fitting.started_at + timedelta(minutes=3 * (1 + len(self.fitting.entries)))
        self.fitting = self.fitting.with_entry(Entry(at=at, who="A. Tester", body=body))

    def work(self, step: str, readings: list[Read]) -> None:
        queue = [self._scaled(one) for one in readings]
        for _ in range(MOST_TURNS):
            status = journey_of(self.deck, self.cartridge, self.fitting).status(step)
            said = status.assessment
            has_read = bool(status.trials) and not status.trials[-1].moves
            if said.verdict.passes and len(queue) <= 1 and (has_read or not queue):
                break
            move = said.next_move
            if has_read and said.verdict in (Verdict.MOVE, Verdict.STOP) and move and move.parts:
                self.keep(MoveMade(step=step, parts=move.parts))
            elif queue:
                self.keep(
                    ReadingTaken(step=step, reading=queue.pop(0) if len(queue) > 1 else queue[0])
                )
            else:
                break
        said = journey_of(self.deck, self.cartridge, self.fitting).status(step).assessment
        self.keep(
            StepAccepted(
                step=step,
                verdict=said.verdict,
                reason="" if said.verdict.passes else "left so for this test",
            )
        )

    def _scaled(self, read: Read) -> Read:
        """Return a reading fit for this cartridge: weighings are given for a target of 2 gf."""
        if read["way"] != "scale":
            return read
        return {
            **read,
            "downforce_gf": round(
                read["downforce_gf"] * self.cartridge.downforce_target_gf / 2.0, 2
            ),
        }
