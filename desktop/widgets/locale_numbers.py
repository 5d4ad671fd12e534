"""The decimal sign of a locale."""

from __future__ import annotations

from PySide6.QtCore import QLocale

from core.language import Numbers
from desktop.widgets.language import spoken


def numbers_of(locale: str) -> Numbers:
    """Return the number format of a locale by name; the system's for an empty name.

    Sentences are made in the language of the application.

    Fields take both point and comma whatever the locale; a decimal sign that is neither (Arabic
    has one of its own) is written as a point.
    """
    sign = (QLocale(locale) if locale else QLocale.system()).decimalPoint()
    return Numbers(sign if sign in (".", ",") else ".", spoken())
