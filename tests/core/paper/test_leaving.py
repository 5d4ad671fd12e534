"""Paper that leaves the house: one page for the owner, a plan, a history, a list of what is due."""

from __future__ import annotations

import base64
import struct
import zlib
from collections.abc import Sequence
from datetime import date, timedelta
from pathlib import Path

import pytest
from pydantic import ValidationError

from core.drawing.marks import Bitmap, Words
from core.fitting import Finished, StepAccepted, Work
from core.history import timeline_of
from core.maintenance.due import due_of
from core.paper.customer_sheet import Addressed, customer_sheets
from core.paper.due_sheet import DueRow, due_sheets
from core.paper.history_sheet import history_sheets
from core.paper.letterhead import (
    LARGEST_LOGO,
    Letterhead,
    keep_letterhead,
    letterhead_of,
    picture_size,
)
from core.paper.plan_sheet import plan_sheets
from core.paper.sheet import PaperSize, Sheet, printable
from core.steps import STEP_NAMES
from core.store import Library
from core.swap import Past, compare, plan_swap
from core.workflow import journey_of, work_asked
from tests.examples import cartridge
from tests.worked import READINGS, Bench

SHOP = "Example workshop"


def png(width: int, height: int) -> bytes:
    """A grey picture, put together as ISO/IEC 15948 says."""

    def chunk(kind: bytes, content: bytes) -> bytes:
        check = struct.pack(">I", zlib.crc32(kind + content))
        return struct.pack(">I", len(content)) + kind + content + check

    head = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    rows = b"".join(b"\0" + b"\x80" * width for _ in range(height))
    parts = (chunk(b"IHDR", head), chunk(b"IDAT", zlib.compress(rows)), chunk(b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(parts)


def shop(*, logo: bytes = b"") -> Letterhead:
    return Letterhead(name=SHOP, address="1 Example Street\n000 0000", logo=base64.b64encode(logo))


def said(sheets: Sequence[Sheet]) -> str:
    return " ".join(m.text for sheet in sheets for m in sheet.marks if isinstance(m, Words))


def lines_of(sheet: Sheet) -> list[str]:
    return [mark.text for mark in sheet.marks if isinstance(mark, Words)]


def finished() -> Bench:
    bench = Bench(who="Ada Example")
    bench.work_all()
    bench.keep(Finished())
    return bench


@pytest.mark.parametrize("size", PaperSize)
def test_the_owners_sheet_is_one_page_in_plain_words(size: PaperSize) -> None:
    (sheet,) = customer_sheets(finished().journey, size, addressed=Addressed(shop()))
    words = said([sheet])
    for told in (
        SHOP,
        "What was done to your record player",
        "2.60",  # as found
        "Set, and",
        "Checked.",
        "stylus guard",
        "Signature",
    ):
        assert told in words
    # A deck of twelve months between checks, finished on 2025-03-04.
    assert "Next check: 2026-03-04" in words
    area = printable(size)
    assert all(mark.y > area.bottom for mark in sheet.marks if isinstance(mark, Words))


def test_the_day_of_the_next_check_is_a_line_to_write_on_where_there_is_none() -> None:
    (sheet,) = customer_sheets(Bench().work_all())
    assert "Next check: ____" in said([sheet])
    to = Addressed(next_check="when the belt is due")
    (sheet,) = customer_sheets(Bench().work_all(), addressed=to)
    assert "Next check: when the belt is due" in said([sheet])


def test_nobodys_name_stands_on_it_unless_asked_for() -> None:
    journey = finished().journey
    assert "C. Owner" not in said(customer_sheets(journey))
    assert "For: C. Owner" in said(
        customer_sheets(journey, addressed=Addressed(customer="C. Owner"))
    )


def test_what_was_not_asked_for_and_what_is_open_is_said_plainly() -> None:
    bench = Bench()
    bench.keep(work_asked(Work.SPEED))
    words = said(customer_sheets(bench.journey))
    assert "Asked for: Just speed." in words
    assert "This work is not finished. Still to do: Speed." in words
    assert "Mount" not in words.split("Step As found")[1]


def test_however_much_was_written_it_stays_one_page() -> None:
    bench = Bench()
    for step in STEP_NAMES:
        if step == "rough_downforce":
            bench.work(step, [{"way": "scale", "downforce_gf": 2.0}])
            continue
        verdict = bench.journey.status(step).assessment.verdict
        bench.keep(StepAccepted(step=step, verdict=verdict, reason="because of this " * 60))
    (sheet,) = customer_sheets(bench.journey, addressed=Addressed(shop(logo=png(400, 100))))
    assert "…" in said([sheet])


def test_a_logo_keeps_its_proportions_inside_its_place() -> None:
    for width, height in ((400, 100), (100, 400), (10, 10)):
        (sheet,) = customer_sheets(
            finished().journey, addressed=Addressed(shop(logo=png(width, height)))
        )
        (logo,) = (mark for mark in sheet.marks if isinstance(mark, Bitmap))
        assert logo.width_mm / logo.height_mm == pytest.approx(width / height)
        assert logo.width_mm <= 46.0 + 1e-9
        assert logo.height_mm <= 18.0 + 1e-9
        assert logo.x + logo.width_mm == pytest.approx(printable(PaperSize.A4).right)


class TestLetterhead:
    def test_it_is_kept_in_the_library_and_comes_back(self, tmp_path: Path) -> None:
        with Library.open(tmp_path / "a.library") as library:
            assert letterhead_of(library).is_empty
            keep_letterhead(library, shop(logo=png(3, 2)))
        with Library.open(tmp_path / "a.library") as library:
            assert letterhead_of(library) == shop(logo=png(3, 2))

    def test_what_a_later_version_wrote_or_a_stranger_damaged_is_left_aside(
        self, tmp_path: Path
    ) -> None:
        with Library.open(tmp_path / "a.library") as library:
            library.keep_fact("letterhead", '{"name": "x", "fax": "y"}')
            assert letterhead_of(library).is_empty

    @pytest.mark.parametrize(
        "logo", [b"GIF89a", png(3, 2)[:20], png(0, 2), b"\x89PNG\r\n\x1a\n" * 9]
    )
    def test_only_a_picture_is_a_logo(self, logo: bytes) -> None:
        with pytest.raises(ValidationError):
            shop(logo=logo)

    def test_its_size_stands_in_its_first_chunk(self) -> None:
        assert picture_size(png(7, 5)) == (7, 5)

    def test_a_logo_that_would_swell_the_library_is_refused(self) -> None:
        with pytest.raises(ValidationError):
            shop(logo=png(3, 2) + b"x" * LARGEST_LOGO)


def test_a_plan_on_paper_gives_each_order_and_its_reason() -> None:
    bench = finished()
    old = Past(bench.fitting, 1, 1, bench.journey)
    heavier = cartridge(mass_g=9.0, body_height_mm=18.5)
    plan = plan_swap(bench.deck, old, heavier, (old,))
    fitting = bench.fitting.model_copy(update={"entries": ()})
    planned = fitting.with_entry(
        bench.fitting.entries[0].model_copy(update={"body": plan.planned()})
    )
    foretold = compare(journey_of(bench.deck, heavier, planned))
    sheets = plan_sheets(plan, foretold, letterhead=shop())
    assert "Go through this step as usual." in " ".join(lines_of(sheets[0]))
    words = said(sheets)
    assert SHOP in words
    assert "Plan for another cartridge" in words
    for start in plan.starts:
        if start.part is not None:
            assert f"{abs(start.part.amount):.1f}".split(".")[0] in words
    assert "Expected: " in words
    assert lines_of(sheets[0]).index("What to do") < lines_of(sheets[0]).index("Level")


def test_a_long_history_carries_the_heads_of_its_tables_from_page_to_page() -> None:
    bench = finished()
    pasts = []
    for month in range(14):
        moved = timedelta(days=31 * month)
        entries = tuple(
            one.model_copy(update={"at": one.at + moved}) for one in bench.fitting.entries
        )
        fitting = bench.fitting.model_copy(
            update={
                "id": f"f{month}",
                "started_at": bench.fitting.started_at + moved,
                "entries": entries,
            }
        )
        pasts.append(Past(fitting, 1, 1, journey_of(bench.deck, bench.cartridge, fitting)))
    dues = due_of(bench.deck, bench.cartridge, pasts, date(2027, 1, 1))
    sheets = history_sheets(bench.deck, timeline_of(pasts), dues, letterhead=shop())
    assert len(sheets) > 2
    assert "What is due" in said(sheets[:1])
    for sheet in sheets[1:]:
        # The first line of a page is the head of the table that goes on, or a heading with it.
        assert lines_of(sheet)[0] in ("Figure", "Day", "Figures over time")
        assert "As left, ± error" in lines_of(sheet)
    assert said(sheets).count("2025-03-04") >= 2


def test_the_list_of_what_is_due_says_how_many_and_since_when() -> None:
    day = date(2026, 5, 1)
    rows = [
        DueRow(f"Example deck {n}", f"Shelf {n}", "Check.", date(2025, 1, 1), date(2026, 1, 1))
        for n in range(90)
    ]
    sheets = due_sheets(rows, day, letterhead=shop())
    assert "90 decks are due." in said(sheets[:1])
    assert "Example deck 89" in said(sheets)
    assert all("Owner's reference" in lines_of(sheet) for sheet in sheets)
    assert "No deck is due." in said(due_sheets([], day))


@pytest.mark.parametrize("size", PaperSize)
def test_a_long_name_never_cuts_the_number_of_the_page(size: PaperSize) -> None:
    """The line at the foot broke off after the words that had room: the number was lost."""
    bench = finished()
    bench.deck = bench.deck.model_copy(update={"name": "Example deck of a long name, " * 6})
    (sheet,) = customer_sheets(bench.journey, size)
    foot = lines_of(sheet)[-1]
    assert foot.endswith("…, page 1 of 1")
    assert foot.startswith("What was done: Example deck")


def test_what_is_open_is_named_as_the_owner_finds_it_in_the_table() -> None:
    """It said 'Alignment' and 'Skating', which stand nowhere else on the sheet."""
    bench = Bench()
    for step in STEP_NAMES[:7]:
        bench.work(step, READINGS[step])
    (sheet,) = customer_sheets(bench.journey)
    words = said([sheet])
    assert "Still to do: Downforce, final setting; Speed." in words


def test_when_it_was_found_is_told_of_a_work_of_several_days_alone() -> None:
    bench = Bench()
    bench.work_all()
    assert "First read" not in said(customer_sheets(bench.journey))
    assert "Measured so on" not in said(customer_sheets(bench.journey))
    began = bench.fitting.started_at - timedelta(days=3)
    bench.fitting = bench.fitting.model_copy(update={"started_at": began})
    assert "Measured so on" in said(customer_sheets(bench.journey))
