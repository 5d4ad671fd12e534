"""The tables of every figure, read back by the standard library's own reader of CSV."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from pathlib import Path

import pytest

from core.fitting import ReadingTaken
from core.language import Numbers
from core.spreadsheet import names_of, write_tables
from core.store import Library, LibraryProblem
from core.store.backend import WorkStoppedError
from core.store.sqlite.address import FileAddress
from tests.examples import cartridge, deck
from tests.visits import fitting, keep

Row = dict[str, str]


@pytest.fixture
def library(tmp_path: Path) -> Iterator[Library]:
    with Library.open(FileAddress(tmp_path / "shop.library"), "Bench one") as opened:
        yield opened


@pytest.fixture
def two_visits(library: Library) -> Library:
    """A deck checked every 12 months: found 0.4 % fast and trimmed, then visited unfinished."""
    deck_id = library.keep_deck(deck(name="=Deck", check_months=12)).id
    cartridge_id = library.keep_cartridge(cartridge()).id
    keep(library, "2025-03-31", deck_id, cartridge_id, found_percent=0.4, left_percent=0.02)
    keep(library, "2026-03-31", deck_id, cartridge_id, finished=False)
    return library


def read(path: Path, delimiter: str = ",") -> list[Row]:
    with path.open(encoding="utf-8-sig", newline="") as stream:
        return list(csv.DictReader(stream, delimiter=delimiter))


def tables(library: Library, folder: Path, numbers: Numbers | None = None) -> dict[str, list[Row]]:
    write_tables(library, folder / "shop.csv", numbers=numbers)
    between = ";" if numbers is not None and numbers.decimal == "," else ","
    return {table: read(path, between) for table, path in names_of(folder / "shop.csv").items()}


def speed_of(lines: list[Row]) -> Row:
    (line,) = [r for r in lines if r["step_number"] == "9" and r["finished"] and r["subject"]]
    return line


def test_a_figure_has_its_number_unit_interval_target_and_verdict(
    two_visits: Library, tmp_path: Path
) -> None:
    line = speed_of(tables(two_visits, tmp_path)["figures"])
    # The readout was typed 0.4 % and 0.02 % fast: 33.4667 and 33.3400 rpm.
    assert float(line["found"]) == pytest.approx(0.4, abs=0.001)
    assert float(line["left"]) == pytest.approx(0.02, abs=0.001)
    assert float(line["left_half_width"]) > 0.0
    assert (line["unit"], line["target"], line["inside"]) == ("%", "0", "yes")
    assert line["verdict"] == "Good"
    assert "fast" in line["positive_means"]
    assert "slow" in line["negative_means"]


def test_the_next_check_is_a_calendar_year_on(two_visits: Library, tmp_path: Path) -> None:
    done, begun = tables(two_visits, tmp_path)["fittings"][::-1]
    assert (done["finished"], done["next_check"]) == ("2025-03-31", "2026-03-31")
    assert (begun["finished"], begun["next_check"]) == ("", "")
    assert (done["steps_good"], done["steps_open"]) == ("9", "0")


def test_every_step_of_every_fitting_has_one_line(two_visits: Library, tmp_path: Path) -> None:
    lines = tables(two_visits, tmp_path)["steps"]
    assert [(r["fitting"], r["step_number"]) for r in lines] == [
        (str(fitting), str(step)) for fitting in (1, 2) for step in range(1, 10)
    ]
    (speed,) = [r for r in lines if r["finished"] and r["step_number"] == "9"]
    assert (speed["readings"], speed["moves"], speed["state"]) == ("2", "1", "Done")


def test_no_cell_is_a_formula_and_none_a_library_number(
    two_visits: Library, tmp_path: Path
) -> None:
    for lines in tables(two_visits, tmp_path).values():
        for line in lines:
            assert not line.get("deck", "").startswith("=")
            assert not any(
                len(word) >= 32 and word.isalnum() for word in " ".join(line.values()).split()
            )


def test_negative_numbers_stay_numbers(library: Library, tmp_path: Path) -> None:
    ids = library.keep_deck(deck()).id, library.keep_cartridge(cartridge()).id
    keep(library, "2025-03-31", *ids, found_percent=-0.05)
    assert float(speed_of(tables(library, tmp_path)["figures"])["left"]) == pytest.approx(
        -0.05, abs=0.001
    )


def test_where_the_comma_is_decimal_columns_are_set_apart_by_semicolons(
    two_visits: Library, tmp_path: Path
) -> None:
    line = speed_of(tables(two_visits, tmp_path, Numbers(","))["figures"])
    assert float(line["found"].replace(",", ".")) == pytest.approx(0.4, abs=0.001)
    assert "." not in line["found"]


def test_the_dictionary_says_what_each_column_of_each_table_holds(
    two_visits: Library, tmp_path: Path
) -> None:
    made = tables(two_visits, tmp_path)
    told = {(r["table"], r["column"]) for r in made["columns"] if r["meaning"].endswith(".")}
    heads = {(t, column) for t in ("figures", "steps", "fittings") for column in made[t][0]}
    assert told == heads


def test_a_fitting_that_cant_be_read_has_its_line_and_the_others_theirs(
    two_visits: Library, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole, bad = two_visits.fitting, two_visits.fittings()[0].id

    def fitting(fitting_id: str) -> object:
        if fitting_id == bad:
            raise LibraryProblem("damaged", "This entry can't be read.", "Restore a backup.")
        return whole(fitting_id)

    monkeypatch.setattr(two_visits, "fitting", fitting)
    made = write_tables(two_visits, tmp_path / "shop")
    assert (made.fittings, made.unreadable) == (2, 1)
    files = names_of(tmp_path / "shop")
    assert [r["problem"] != "" for r in read(files["fittings"])] == [True, False]
    assert {r["fitting"] for r in read(files["steps"])} == {"2"}


def test_stopped_half_way_it_leaves_the_last_export_as_it_was(
    two_visits: Library, tmp_path: Path
) -> None:
    before = tables(two_visits, tmp_path)
    answers = iter([True, False])
    with pytest.raises(WorkStoppedError):
        write_tables(two_visits, tmp_path / "shop.csv", go_on=lambda: next(answers))
    after = {t: read(p) for t, p in names_of(tmp_path / "shop.csv").items()}
    assert after == before
    assert not [p for p in tmp_path.iterdir() if p.name.endswith(".unfinished")]


def test_a_part_of_the_fittings_is_enough(two_visits: Library, tmp_path: Path) -> None:
    one = two_visits.fittings()[1].id
    counted: list[int] = []
    made = write_tables(two_visits, tmp_path / "one", [one], told=counted.append)
    assert (made.fittings, counted) == (1, [1])


def test_what_a_recording_tells_beside_speed_has_lines_without_a_target(
    library: Library, tmp_path: Path
) -> None:
    ids = library.keep_deck(deck()).id, library.keep_cartridge(cartridge()).id
    # What a standard's meter reads is typed here as a recording would keep it.
    told = {"weighted_percent": 0.12, "unweighted_percent": 0.2, "once_per_turn_percent": 0.15}
    speed = {"hz": 3150.0, "nominal_hz": 3150.0, "start_s": 0.0, "seconds": 30.0, **told}
    band = {"kind": "speed", "side": "both", "hz": 3150.0, "start_s": 0, "end_s": 30}
    recorded = {"file": "tone.wav", "seconds": 30.0, "channels": 2, "speed": speed}
    reading = {"way": "tone", "recorded": recorded | {"bands": [band | {"level_db": -10}]}}
    library.log.add(
        fitting(
            "2025-03-31",
            deck_id=ids[0],
            cartridge_id=ids[1],
            said=[ReadingTaken(step="speed", reading=reading)],
        )
    )
    lines = tables(library, tmp_path)["figures"]
    beside = [one for one in lines if one["step_number"] == "9" and not one["target"]]
    assert [(one["found"], one["unit"], one["inside"]) for one in beside] == [
        ("0.12", "%", ""),
        ("0.2", "%", ""),
        ("0.15", "%", ""),
    ]
    assert "luctuation" in beside[0]["figure"]
