"""A practice deck with hidden faults, and the proof that the wizard converges.

A rehearsal answers every way of reading and obeys every move. Its mechanics are worked out from
vectors, moments and roots closed in on by trying, apart from the formulas the steps use; an import
contract sees to it that none of those is called from here.
"""

from __future__ import annotations

from core.practice.faults import Difficulty
from core.practice.instrument_display import InstrumentDisplay
from core.practice.rehearsal import Rehearsal, new_rehearsal
from core.practice.truth import Truth

__all__ = ["Difficulty", "InstrumentDisplay", "Rehearsal", "Truth", "new_rehearsal"]
