"""Fields out of sight are made once they are needed, and count for all that they hold before."""

from __future__ import annotations

import json
from collections.abc import Callable

import pytest
from pydantic import BaseModel
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from core.language import Numbers
from core.records import (
    Cartridge,
    CutRecord,
    Deck,
    FeetLayout,
    FeetPattern,
    FieldKind,
    Headshell,
    Job,
    RecordBand,
    fields_of,
)
from desktop.forms.arms_editor import ArmsEditor
from desktop.forms.fold import Fold
from desktop.forms.form import Form
from desktop.forms.held_values import can_be_held, raw_of_model
from desktop.forms.model_fields import GroupEditor, ModelFields
from desktop.library.essentials import details_of, fold_details
from tests.arms import two_arms
from tests.examples import cartridge, deck

Shown = Callable[..., QWidget]
FOUR_FEET = [foot.model_dump() for foot in FeetLayout(pattern=FeetPattern.ONE_AT_REAR).feet]
RECORDS: dict[str, tuple[type[BaseModel], BaseModel | None]] = {
    "deck": (Deck, deck()),
    "deck with feet in a pattern": (Deck, deck(plinth={"feet": FOUR_FEET})),
    "deck with two arms": (Deck, two_arms()),
    "deck with odd words": (Deck, deck(notes="two\nlines", owner_reference="a\u00a0b\u202e")),
    "cartridge": (Cartridge, cartridge()),
    "headshell": (Headshell, Headshell(name="Example headshell", mass_g=9.0)),
    "job": (Job, Job(brought="a deck", notes="two\r\nlines")),
    "test record": (
        CutRecord,
        CutRecord(name="Example record", bands=(RecordBand(label="A1", kind="speed", hz=3150.0),)),
    ),
    **{f"new {model.__name__}": (model, None) for model in (Deck, Cartridge, Headshell, Job)},
}


def folded(model: type[BaseModel], value: BaseModel | None = None) -> Form:
    fold = Fold(details_of)
    fold.away = True
    return Form(model, Numbers(), value, fold=fold, makes_later=True)


def whole(model: type[BaseModel], value: BaseModel | None = None) -> Form:
    return Form(model, Numbers(), value)


def make_all(fields: ModelFields) -> None:
    for entry in fields.entries.values():
        for inner in entry.findChildren(ModelFields):
            make_all(inner)


@pytest.fixture
def forms(qtbot: QtBot, request: pytest.FixtureRequest) -> tuple[Form, Form]:
    model, value = RECORDS[request.param]
    made = folded(model, value), whole(model, value)
    for form in made:
        qtbot.addWidget(form)
    return made


@pytest.mark.parametrize("forms", RECORDS, indirect=True)
def test_what_stands_in_a_field_is_the_same_before_and_after_it_is_made(
    forms: tuple[Form, Form],
) -> None:
    lazy, all_made = forms
    lazy.forget_typing()
    before = lazy.fields.raw()
    assert before == all_made.fields.raw()
    assert json.loads(json.dumps(before)) == before
    make_all(lazy.fields)
    assert lazy.fields.raw() == before
    assert lazy.typed_raw() is None


@pytest.mark.parametrize("forms", RECORDS, indirect=True)
def test_a_form_says_the_same_whether_its_fields_are_made_or_not(forms: tuple[Form, Form]) -> None:
    lazy, all_made = forms
    assert lazy.draft() == all_made.draft()
    assert lazy.problems() == all_made.problems()
    assert lazy.fields.typed() == all_made.fields.typed()


@pytest.mark.parametrize("name", [name for name in RECORDS if not name.startswith("new")])
def test_held_values_are_those_of_the_editors_one_by_one(name: str, qtbot: QtBot) -> None:
    model, value = RECORDS[name]
    form = whole(model, value)
    qtbot.addWidget(form)
    for spec in fields_of(model):
        if can_be_held(spec, getattr(value, spec.name)):
            raw = raw_of_model(model, value, Numbers())[spec.name]
            assert raw == form.fields.entries[spec.name].raw(), spec.name


def test_values_of_every_sort_are_put_into_fields_that_are_not_made(qtbot: QtBot) -> None:
    """What is much like another one is put over what was there."""
    lazy, all_made = folded(Deck), whole(Deck)
    for form in (lazy, all_made):
        qtbot.addWidget(form)
        for _model, value in RECORDS.values():
            if isinstance(value, Deck):
                form.put(value)
                assert form.draft() == value
        form.put(None)
    assert lazy.fields.raw() == all_made.fields.raw()


def test_a_folded_form_makes_few_widgets_and_a_page_of_groups_none_before_their_turn(
    qtbot: QtBot,
) -> None:
    """Before, each field of a deck was made at once, folded or not: 766 widgets, up to 0.56 s."""
    lazy, all_made = folded(Deck), whole(Deck)
    for form in (lazy, all_made):
        qtbot.addWidget(form)
    most = len(all_made.findChildren(QWidget))
    assert len(lazy.findChildren(QWidget)) < 0.1 * most
    for name in lazy.fields.names_to_make():
        lazy.fields.make(name)
    assert lazy.fields.names_to_make() == []
    assert len(lazy.findChildren(QWidget)) < 0.4 * most
    few = len(lazy.tab_stops())
    fold_details(lazy, away=False)
    assert len(lazy.tab_stops()) > 1.5 * few
    assert [entry.spec.name for entry in lazy.fields.shown_entries()] == [
        entry.spec.name for entry in all_made.fields.shown_entries()
    ], "each at its place"
    assert lazy.tab_stops() == [s for e in lazy.fields.made_and_shown() for s in e.tab_stops()]


def test_rows_stand_in_the_order_of_the_fields_whenever_they_are_made(qtbot: QtBot) -> None:
    form = folded(Cartridge)
    qtbot.addWidget(form)
    form.resize(600, 2000)
    form.show()
    names = [spec.name for spec in form.fields.specs]
    for name in reversed(names):
        form.fields.make(name)
    fold_details(form, away=False)
    form.fields.put(cartridge())
    qtbot.wait(10)
    tops = [
        form.fields.made[name].mapTo(form, form.rect().topLeft()).y()
        for name in names
        if form.fields.made[name].isVisible()
    ]
    assert len(tops) > 10
    assert tops == sorted(tops)


def test_a_draft_makes_only_the_fields_that_it_changes(qtbot: QtBot) -> None:
    form = folded(Deck, deck())
    qtbot.addWidget(form)
    raw = json.loads(json.dumps(form.fields.raw()))
    raw["amplifier"]["input_pf"] = "lots"
    form.type_again(raw)
    assert form.fields.raw() == raw
    assert form.typed_raw() == raw
    assert "amplifier" in form.fields.made
    assert "bench" not in form.fields.made
    assert any("Input capacitance" in label for label, _ in form.problems())


def test_a_draft_of_a_deck_keeps_the_keys_of_its_arms(qtbot: QtBot) -> None:
    """Before, each arm got a new key, and its fittings were those of an arm that is gone."""
    known = two_arms()
    form = folded(Deck, known)
    qtbot.addWidget(form)
    raw = json.loads(json.dumps(form.fields.raw()))
    raw["further_arms"][0]["name"] = "Long arm"
    form.type_again(raw)
    assert isinstance(form.fields.made["further_arms"], ArmsEditor)
    made = form.draft()
    assert isinstance(made, Deck)
    (arm,) = made.further_arms
    assert (arm.key, arm.name) == (known.further_arms[0].key, "Long arm")


def test_enter_makes_the_next_group_and_goes_there(qtbot: QtBot, shown: Shown) -> None:
    form = folded(Deck)
    shown(form)
    last = form.fields.made_and_shown()[-1]
    last.entered.emit()
    plinth = form.fields.made["plinth"]
    assert isinstance(plinth, GroupEditor)
    focused = form.focusWidget()
    assert focused is not None
    assert plinth.isAncestorOf(focused)
    assert "arm" not in form.fields.made, "no more than that"


def test_every_kind_of_field_in_a_record_can_be_held_or_is_made_at_once(qtbot: QtBot) -> None:
    for model in (Deck, Cartridge, Headshell, Job, CutRecord):
        form = folded(model)
        qtbot.addWidget(form)
        unmade = [spec for spec in form.fields.specs if spec.name not in form.fields.made]
        assert all(spec.kind is not FieldKind.FILE for spec in unmade)
