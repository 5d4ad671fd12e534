"""The decimal sign of a locale."""

from __future__ import annotations

from PySide6.QtCore import QLocale

from core.language import Numbers
from desktop.widgets.language import spoken


def numbers_of(locale: str, chosen: str = "") -> Numbers:
    """Return the number format of a locale by name, else with the decimal sign that was ``chosen``.

    Without either it is the system's.

    Sentences are made in the language of the application.

    Fields take both point and comma whatever the locale; a decimal sign that is neither (Arabic
    has one of its own) is written as a point.
    """
    sign = (QLocale(locale) if locale else QLocale.system()).decimalPoint()
    if chosen and not locale:
        sign = chosen
    return Numbers(sign if sign in (".", ",") else ".", spoken())
