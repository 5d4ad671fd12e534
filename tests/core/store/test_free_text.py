"""Owner's reference and notes are free text: what was typed comes back, wherever it went."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from core.fitting import NoteWritten
from core.store import Library
from core.store.documents import read_document
from core.store.exporting import of_library, write_document
from core.store.importing import plan, take_in
from core.store.tables import record_table
from tests.examples import cartridge, deck

LONGEST_REFERENCE, LONGEST_NOTE = 120, 4000

TEXTS = (
    "Job 17 / shelf „B“, it's 100 % \\ done\ttab",
    "受付 311 – 下取り",
    "הזמנה 12 (דחוף)",
    "\u202bשלום\u202c abc \u200f!",
    "👩🏽\u200d🔧 🔵 🇫🇮",
    "e\u0301 is not é, ﬁ is not fi, ß is not ss",
    "'=1+1",
    "two  blanks, no\u00a0break, zero\u200bwidth",
)
LINES = ("first\n\n  indented\n- a list\nlast", "tab\there\nבעברית\n日本語\n👍")


def everywhere(library: Library, other: Path, reference: str, notes: str) -> None:
    """Keep a text, read it back from file, document and table, and compare."""
    thing = deck(name="Free text", owner_reference=reference, notes=notes)
    kept = library.keep_deck(thing)
    pick = library.keep_cartridge(cartridge(name="Free text", notes=notes))
    fitting = library.start_fitting(kept.id, pick.id)
    library.append(fitting.id, NoteWritten(text=notes if thing.notes else "-"))
    with Library.open(library.address, read_only=True) as again:
        assert again.deck(kept.id).thing == thing
        (row,) = again.deck_records.rows_of([kept.id])
        assert row.owner_reference == thing.owner_reference
    place = other / f"{kept.id}.json"
    write_document(library, place, of_library(library))
    with Library.open(other / f"{kept.id}.library") as elsewhere:
        take_in(elsewhere, plan(elsewhere, read_document(place)), {})
        assert elsewhere.deck(kept.id).thing == thing
        assert elsewhere.cartridge(pick.id).thing.notes == thing.notes
        assert elsewhere.fitting(fitting.id).entries == library.fitting(fitting.id).entries
    table = record_table([row], sort="deck", delimiter=";")
    (said,) = csv.DictReader(io.StringIO(table, newline=""), delimiter=";")
    told = said["Owner's reference"]
    assert told in (thing.owner_reference, f"'{thing.owner_reference}")


@pytest.mark.parametrize("text", TEXTS)
def test_a_text_comes_back_as_it_was_typed(library: Library, tmp_path: Path, text: str) -> None:
    assert deck(owner_reference=text, notes=text).owner_reference == text
    everywhere(library, tmp_path, text, text)


@pytest.mark.parametrize("text", LINES)
def test_lines_stay_lines(library: Library, tmp_path: Path, text: str) -> None:
    assert deck(notes=text).notes == text
    everywhere(library, tmp_path, "", text)


def test_the_longest_texts_fit_whatever_their_script(library: Library, tmp_path: Path) -> None:
    for sign in ("a", "語", "🔵"):
        everywhere(library, tmp_path, sign * LONGEST_REFERENCE, sign * LONGEST_NOTE)
        with pytest.raises(ValueError, match="at most 120"):
            deck(owner_reference=sign * (LONGEST_REFERENCE + 1))
        with pytest.raises(ValueError, match="at most 4000"):
            deck(notes=sign * (LONGEST_NOTE + 1))


def test_only_blanks_at_both_ends_are_taken_off_and_the_same_everywhere(
    library: Library, tmp_path: Path
) -> None:
    thing = deck(owner_reference=" Job 17\n", notes="\n a\n\n b \n")
    assert (thing.owner_reference, thing.notes) == ("Job 17", "a\n\n b")
    everywhere(library, tmp_path, thing.owner_reference, thing.notes)


@given(
    reference=st.text(st.characters(exclude_categories=["Cs"]), max_size=30),
    notes=st.text(st.characters(exclude_categories=["Cs"]), max_size=60),
)
@example(reference="", notes="\r")  # blanks alone are no note
@settings(
    max_examples=8,
    deadline=None,
    # Every example keeps things of its own: nothing is carried over.
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
def test_any_text_comes_back(library: Library, tmp_path: Path, reference: str, notes: str) -> None:
    everywhere(library, tmp_path, reference, notes)
