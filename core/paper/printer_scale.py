"""The scale a printer was found to print at, kept in the library under the printer's name."""

from __future__ import annotations

import unicodedata
from datetime import UTC, datetime
from typing import Annotated, Final

from pydantic import AwareDatetime, Field, ValidationError

from core.language import message
from core.paper.sheet import PaperProblem
from core.records import FrozenModel
from core.store import Library

_PREFIX: Final = "scale of printer: "


class PrinterScale(FrozenModel):
    """What was found of one printer.

    ``factor`` is what its prints are made larger by; ``measured_x_mm`` and ``measured_y_mm`` what
    the check lines measured on the print that led to it.
    """

    printer: Annotated[str, Field(min_length=1, max_length=200)]
    factor: Annotated[float, Field(gt=0.5, lt=2.0)]
    accepted: bool
    measured_x_mm: Annotated[float, Field(gt=0)]
    measured_y_mm: Annotated[float, Field(gt=0)]
    at: AwareDatetime = Field(default_factory=lambda: datetime.now(UTC))
    who: str = ""


def scale_of(library: Library, printer: str) -> PrinterScale | None:
    """Return what is kept of a printer; None if nothing is, or nothing this version can read."""
    kept = library.fact(_PREFIX + _folded(printer))
    if kept is None:
        return None
    try:
        return PrinterScale.model_validate_json(kept)
    except ValidationError:
        return None


def keep_scale(library: Library, scale: PrinterScale) -> None:
    """Store what was found of a printer in place of earlier findings.

    Raises
    ------
    LibraryProblem
        If the library can't be written.
    """
    library.keep_fact(_PREFIX + _folded(scale.printer), scale.model_dump_json())


def _folded(printer: str) -> str:
    name = " ".join(unicodedata.normalize("NFC", printer).split()).casefold()
    if not name:
        raise PaperProblem(
            message("paper.printer_scale.a_measured_scale_is_kept_under"),
            message("paper.printer_scale.give_the_printers_name"),
        )
    return name
