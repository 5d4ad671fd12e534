"""The decimal sign of a locale."""

from __future__ import annotations

from PySide6.QtCore import QLocale

from core.language import Numbers
from desktop.widgets.language import spoken


def numbers_of(locale: str) -> Numbers:
    """Return how numbers are written under a locale's name; the system's for an empty one.

    Sentences are made in the language of the application.

    Fields take both point and comma whatever the locale; a decimal sign that is neither (Arabic
    has one of its own) is written as a point.
    """
    sign = (QLocale(locale) if locale else QLocale.system()).decimalPoint()
    return Numbers(sign if sign in (".", ",") else ".", spoken())
