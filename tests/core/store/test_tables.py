"""Lists for a spreadsheet: what it shows is what was typed, and nothing runs."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest

from core.fitting import Finished, Fitting
from core.store import Library, LibraryProblem
from core.store.tables import fitting_table, record_table, write_table
from tests.examples import deck


def read(table: str, delimiter: str = ",") -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(table, newline=""), delimiter=delimiter))


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_a_table_reads_back(library: Library, delimiter: str) -> None:
    name = 'Deck "A"; with, all\nof it'
    kept = library.keep_deck(deck(name=name, owner_reference="Müller 17"))
    rows = read(record_table(library.decks(), sort="deck", delimiter=delimiter), delimiter)
    (row,) = [row for row in rows if row["Number"] == kept.id]
    assert len(rows) == len(library.decks())
    assert (row["Name"], row["Owner's reference"]) == (name, "Müller 17")
    assert (row["Arm"], row["Revision"]) == ("Pivoted, head at an angle", "1")
    cartridges = read(record_table(library.cartridges(), sort="cartridge"))
    assert "Line contact" in [row["Stylus"] for row in cartridges]


def test_a_table_of_fittings_says_what_is_finished(library: Library, fitting: Fitting) -> None:
    library.append(fitting.id, Finished())
    (row,) = read(fitting_table(library.fittings()))
    assert (row["Owner's reference"], row["Finished"], row["Entries"]) == ("Job 17", "yes", "1")


@pytest.mark.parametrize(
    "text",
    ["=1+1", "+49 123", "-5", "@SUM(A1)", "\tx", " =1+1", "\u00a0=1+1", '=HYPERLINK("a";"b")'],
)
def test_what_looks_like_a_formula_is_text(text: str, library: Library) -> None:
    kept = library.keep_deck(deck(name="Plain name")).thing
    (row,) = (row for row in library.decks() if row.name == "Plain name")
    harmful = row._replace(owner_reference=text)
    (said,) = read(record_table([harmful], sort="deck"))
    assert said["Owner's reference"] == f"'{text}"
    assert said["Name"] == kept.name


def test_a_file_is_written_whole_with_the_mark_spreadsheets_look_for(
    library: Library, tmp_path: Path
) -> None:
    table = record_table(library.decks(), sort="deck")
    write_table(tmp_path / "decks.csv", table)
    content = (tmp_path / "decks.csv").read_bytes()
    assert content.startswith(b"\xef\xbb\xbfName,")
    assert content.count(b"\r\n") == len(library.decks()) + 1
    with pytest.raises(LibraryProblem):
        write_table(tmp_path / "no" / "decks.csv", table)
