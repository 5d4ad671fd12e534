"""Numbers typed and written for one country, dates, and the words of the steps."""

from importlib import import_module
from typing import TYPE_CHECKING

from core.language.catalogue import ENGLISH, has_template
from core.language.messages import (
    Eighths,
    Expectation,
    Force,
    Interval,
    Label,
    Message,
    Name,
    Quantity,
    Sentences,
    Series,
    StepTitle,
    Text,
    Turns,
    Value,
    message,
    shown,
    stored,
)
from core.language.numbers import JOINER, MINUS, NO_BREAK, Numbers
from core.language.told_problem import ToldProblem

if TYPE_CHECKING:
    from core.language.dates import clock_of, date_ticks, day_of, days_after, months_after, position
    from core.language.day_typing import read_day
    from core.language.help_texts import HelpText, KeyGroup, TradeWord, help_text
    from core.language.number_parsing import (
        Meant,
        Typed,
        as_typed,
        read_number,
        read_numbers,
        read_whole,
    )
    from core.language.step_texts import Caution, StepText, WorkLine, cautions, step_text
    from core.language.unit_conversion import converted, is_own

__all__ = [
    "ENGLISH",
    "JOINER",
    "MINUS",
    "NO_BREAK",
    "Caution",
    "Eighths",
    "Expectation",
    "Force",
    "HelpText",
    "Interval",
    "KeyGroup",
    "Label",
    "Meant",
    "Message",
    "Name",
    "Numbers",
    "Quantity",
    "Sentences",
    "Series",
    "StepText",
    "StepTitle",
    "Text",
    "ToldProblem",
    "TradeWord",
    "Turns",
    "Typed",
    "Value",
    "WorkLine",
    "as_typed",
    "cautions",
    "clock_of",
    "converted",
    "date_ticks",
    "day_of",
    "days_after",
    "has_template",
    "help_text",
    "is_own",
    "message",
    "months_after",
    "position",
    "read_day",
    "read_number",
    "read_numbers",
    "read_whole",
    "shown",
    "step_text",
    "stored",
]

_LATER = {
    "day_typing": ("read_day",),
    "dates": ("clock_of", "date_ticks", "day_of", "days_after", "months_after", "position"),
    "help_texts": ("HelpText", "KeyGroup", "TradeWord", "help_text"),
    "number_parsing": ("Meant", "Typed", "as_typed", "read_number", "read_numbers", "read_whole"),
    "step_texts": ("Caution", "StepText", "WorkLine", "cautions", "step_text"),
    "unit_conversion": ("converted", "is_own"),
}
"""Names by the module that is imported once one of them is asked for."""

if not TYPE_CHECKING:

    def __getattr__(name: str) -> object:
        """Import at the first use what the list of decks, shown first, needs nothing of."""
        module = next((one for one, names in _LATER.items() if name in names), None)
        if module is None:
            raise AttributeError(name)
        found = vars(import_module(f"{__name__}.{module}"))[name]
        globals()[name] = found
        return found
