"""Rough downforce: safe enough for a stylus to touch a record at all."""

from collections.abc import Iterator

from core.fitting import Choices
from core.records import Deck
from core.steps.downforce import Readings, applies
from core.steps.downforce.controls import movables
from core.steps.downforce.effects import rough_disturbed_by as disturbed_by
from core.steps.downforce.swap import rough_forecast as forecast
from core.steps.rough_downforce.judge import NAME, assess
from core.steps.shared import StepReport
from core.steps.shared import judged_roughly as aftermath
from core.steps.shared import undisturbed as disturbed_by_downforce
from core.steps.shared.gain_samples import GainSource


def gain_sources(deck: Deck) -> Iterator[GainSource]:
    """Yield nothing: the final weighings tell what the control did."""
    del deck
    return iter(())


Chosen = Choices
REPORT = StepReport(tells_when_found=True)

__all__ = [
    "NAME",
    "REPORT",
    "Chosen",
    "Readings",
    "aftermath",
    "applies",
    "assess",
    "disturbed_by",
    "disturbed_by_downforce",
    "forecast",
    "gain_sources",
    "movables",
]
