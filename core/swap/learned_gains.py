"""The gains of a deck's controls, learned from all of its fittings.

Every move between two readings of one fitting is a sample: the amount of the move and the change of
the reading. One gain is fitted to all of them through zero by weighted least squares.
"""

from __future__ import annotations

from collections.abc import Sequence

from core.fitting import Gain
from core.records import Deck
from core.steps import STEPS, STEPS_OF_DECK
from core.steps.shared.gain_samples import fitted
from core.steps.shared.swap_part import Past


def learned_gains(
    pasts: Sequence[Past], deck: Deck | None = None, arm_key: str | None = None
) -> tuple[Gain, ...]:
    """Return the gains of the deck's controls from its own history, with their spread.

    Parameters
    ----------
    pasts
        Fittings of one deck, in any order.
    deck
        The deck as it is known now; left out, as the fitting with its newest revision knew it.
        A fitting whose record of a control reads otherwise teaches nothing of that control.
    arm_key
        The arm to say it for; left out, that of the fitting that the deck is taken from. Fittings
        on another one teach only of what is the deck's.

    Returns
    -------
    tuple of Gain
        Only of controls with two moves or more, and a gain that is told apart from none. A
        control that runs the other way round has a negative gain.
    """
    if not pasts:
        return ()
    newest = max(pasts, key=lambda past: past.deck_revision)
    known = deck or newest.deck
    key = newest.fitting.arm_key if arm_key is None else arm_key
    mine = [past for past in pasts if past.fitting.arm_key == key]
    found: list[Gain] = []
    for source in (source for step in STEPS for source in step.gain_sources(known)):
        gain = fitted(list(source.of(known, pasts if source.step in STEPS_OF_DECK else mine)))
        if gain is None:
            continue
        value, count = gain
        half = value.half_width()
        if not half < abs(value.value):
            continue
        found.append(
            Gain(
                step=source.step,
                control=source.control,
                where=source.where,
                value=value.value,
                half_width=half,
                unit=source.unit,
                samples=count,
                stated=source.stated,
            )
        )
    return tuple(found)
