"""A short job leaves the day of the next check where it was; the paper tells that day."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from core.fitting import Finished, Work
from core.maintenance.gathering import check_kept
from core.store import Library
from core.workflow.work import work_asked
from tests.examples import cartridge, deck
from tests.visits import keep


@pytest.fixture
def library(tmp_path: Path) -> Iterator[Library]:
    with Library.open(tmp_path / "one.library") as opened:
        yield opened


def test_a_short_job_tells_the_day_that_the_deck_had_or_none(library: Library) -> None:
    on = library.keep_deck(deck(check_months=12)).id
    pick = library.keep_cartridge(cartridge()).id
    short = library.start_fitting(on, pick, work=work_asked(Work.DOWNFORCE))
    library.append(short.id, Finished())
    assert check_kept(library, library.fitting(short.id)) == ""
    whole = keep(library, "2025-03-04", on, pick)
    assert check_kept(library, library.fitting(short.id)) == "2026-03-04"
    assert check_kept(library, library.fitting(whole.id)) == "", "it tells its own day"
