"""A practice deck with hidden faults, and the proof that the wizard converges.

A rehearsal answers every way of reading and obeys every move. Its mechanics are worked out from
vectors, moments and roots closed in on by trying, apart from the formulas the steps use; an import
contract sees to it that none of those is called from here.
"""

from core.practice.debrief import MisleadingControl, StepDebrief, debrief_of, misleading_controls
from core.practice.faults import Difficulty
from core.practice.grooves import NULLS_MM
from core.practice.instrument_display import InstrumentDisplay
from core.practice.rehearsal import Rehearsal, new_rehearsal
from core.practice.truth import Truth

__all__ = [
    "NULLS_MM",
    "Difficulty",
    "InstrumentDisplay",
    "MisleadingControl",
    "Rehearsal",
    "StepDebrief",
    "Truth",
    "debrief_of",
    "misleading_controls",
    "new_rehearsal",
    "own_readings",
    "saved_rehearsals",
]
