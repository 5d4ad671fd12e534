"""Every line of a form says how much too long a text is, and keeps it as it was typed."""

from __future__ import annotations

from typing import Final

import pytest
from pydantic import BaseModel
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from core.fitting import HoursRead
from core.language import Numbers
from core.records import Cartridge, Customer, Deck, Foot, Job, fields_of
from core.records.field_specs import FieldKind
from desktop.forms.model_fields import ModelFields

LIMITS: Final[dict[type[BaseModel], dict[str, int]]] = {
    Deck: {"name": 120, "owner_reference": 120, "notes": 4000, "first_arm_name": 60},
    Foot: {"name": 40},
    Cartridge: {"name": 120, "notes": 4000},
    Job: {
        "number": 40,
        "brought": 200,
        "notes": 2000,
        **dict.fromkeys(("stylus_seen", "noises", "missing", "accessories"), 2000),
    },
    Customer: {"name": 120, "contact": 200},
    HoursRead: {"note": 200},
}
DAYS: Final = {"received", "promised", "handed_over"}


@pytest.mark.parametrize("model", LIMITS, ids=lambda one: one.__name__)
def test_each_text_of_a_form_has_a_limit_and_says_so(model: type[BaseModel], qtbot: QtBot) -> None:
    page = QWidget()
    qtbot.addWidget(page)
    fields = ModelFields(model, Numbers(), page)
    texts = {spec.name for spec in fields_of(model) if spec.kind is FieldKind.TEXT} - DAYS
    assert texts == LIMITS[model].keys()
    for name, limit in LIMITS[model].items():
        entry = fields.entries[name]
        entry.put("x" * limit)
        assert not entry.answer().problems
        entry.put("x" * (limit + 3))
        ((label, sentence),) = entry.answer().problems
        assert sentence == f"“{label}” is 3 characters too long ({limit} fit)."
        assert entry.raw() == "x" * (limit + 3)
