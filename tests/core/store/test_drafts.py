"""What is typed and not saved is kept with its fitting, and is taken for nothing else."""

from __future__ import annotations

import signal
import subprocess
import sys
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from core.fitting import Fitting, NoteWritten
from core.store import Library, LibraryAddress, LibraryProblem, ProblemKind
from core.store.drafts import Draft
from tests.core.store.killing import ROOT
from tests.core.store.worked import everything

NOON = datetime(2025, 3, 1, 12, tzinfo=UTC)


def a_draft(fitting: Fitting, window: str = "one", **other: object) -> Draft:
    made = Draft(fitting.id, "level", "bubble", window, NOON, "Ann", {"divisions": ["2,2", 0]})
    return replace(made, **other)  # type: ignore[arg-type]  # fields of the draft


def test_a_draft_comes_back_as_it_was_typed(library: Library, fitting: Fitting) -> None:
    draft = a_draft(fitting)
    library.drafts.keep(draft)
    assert library.drafts.of(fitting.id, "level") == (draft,)
    assert library.drafts.of(fitting.id, "mount") == ()
    later = replace(draft, content={"divisions": ["2,25", 1]})
    library.drafts.keep(later)
    assert library.drafts.of(fitting.id, "level") == (later,)
    library.drafts.drop(fitting.id, "level", "bubble", "one")
    assert library.drafts.of(fitting.id, "level") == ()
    library.drafts.drop(fitting.id, "level", "bubble", "one")


def test_windows_keep_theirs_side_by_side(library: Library, fitting: Fitting) -> None:
    mine, other = a_draft(fitting), a_draft(fitting, "two", content={"divisions": ["9", 1]})
    library.drafts.keep(mine)
    library.drafts.keep(other)
    assert set(map(repr, library.drafts.of(fitting.id, "level"))) == {repr(mine), repr(other)}
    library.drafts.drop(fitting.id, "level", "bubble", "two")
    assert library.drafts.of(fitting.id, "level") == (mine,)


def test_a_draft_left_behind_goes_to_one_window_alone(library: Library, fitting: Fitting) -> None:
    left = a_draft(fitting, "killed")
    library.drafts.keep(left)
    claimed = library.drafts.claim(left, "one")
    assert claimed == replace(left, window="one")
    assert library.drafts.claim(left, "two") is None
    assert library.drafts.of(fitting.id, "level") == (claimed,)


def test_a_draft_replaces_nothing_when_it_is_claimed(library: Library, fitting: Fitting) -> None:
    mine, left = a_draft(fitting), a_draft(fitting, "killed", content={})
    library.drafts.keep(mine)
    library.drafts.keep(left)
    assert library.drafts.claim(left, "one") is None
    assert len(library.drafts.of(fitting.id, "level")) == 2


def test_nothing_else_knows_of_drafts(library: Library, fitting: Fitting) -> None:
    before, rows = everything(library), library.fittings()
    library.drafts.keep(a_draft(fitting))
    assert everything(library) == before
    assert library.fittings() == rows
    assert library.fitting(fitting.id).entries == ()
    assert library.faults() == []


def test_a_reading_is_saved_and_its_draft_is_gone_or_neither(
    library: Library, fitting: Fitting
) -> None:
    draft = a_draft(fitting)
    library.drafts.keep(draft)

    def saved_and_killed() -> None:
        with library.transaction():
            library.append(fitting.id, NoteWritten(text="read"))
            library.drafts.drop(fitting.id, "level", "bubble", "one")
            raise RuntimeError

    with pytest.raises(RuntimeError):
        saved_and_killed()
    assert library.drafts.of(fitting.id, "level") == (draft,)
    assert library.fitting(fitting.id).entries == ()


def test_a_draft_waits_for_nobody(
    address: LibraryAddress, library: Library, fitting: Fitting
) -> None:
    with Library.open(address, "Other", wait_s=30) as other, library.transaction():
        with pytest.raises(LibraryProblem) as caught:
            other.drafts.keep(a_draft(fitting))
        assert caught.value.kind is ProblemKind.LOCKED
    with Library.open(address, "Other", wait_s=30) as other:
        other.drafts.keep(a_draft(fitting))


@pytest.mark.parametrize("body", ["", "{", "[]", "7", '"text"', "[" * 5000, "x" * 200_000])
def test_a_draft_that_cant_be_read_keeps_nobody_out(
    library: Library, fitting: Fitting, body: str
) -> None:
    library.drafts.keep(a_draft(fitting))
    library.drafts.keep(a_draft(fitting, "two"))
    with library.transaction():
        library._backend.update("drafts", {"body": body}, {"window_id": "one"})
    assert [one.window for one in library.drafts.of(fitting.id, "level")] == ["two"]


def test_what_no_draft_can_be_is_refused_and_half_characters_are_kept(
    library: Library, fitting: Fitting
) -> None:
    with pytest.raises(LibraryProblem) as caught:
        library.drafts.keep(a_draft(fitting, content={"note": "x" * 200_000}))
    assert caught.value.kind is ProblemKind.UNSUITABLE
    half = a_draft(fitting, content={"note": "\ud83d"})
    library.drafts.keep(half)
    assert library.drafts.of(fitting.id, "level") == (half,)


@pytest.mark.skipif(sys.platform == "win32", reason="nobody is killed so there")
def test_a_draft_outlives_a_kill_at_once(place: Path, library: Library, fitting: Fitting) -> None:
    code = (
        "import os, signal, sys; from datetime import UTC, datetime\n"
        "from core.store import Library; from core.store.drafts import Draft\n"
        "library = Library.open(sys.argv[1])\n"
        "for number in range(50):\n"
        "    content = {'divisions': [str(number), 0]}\n"
        "    now = datetime.now(UTC)\n"
        "    library.drafts.keep(Draft(sys.argv[2], 'level', 'bubble', 'w', now, '', content))\n"
        "os.kill(os.getpid(), signal.SIGKILL)\n"
    )
    ended = subprocess.run(
        [sys.executable, "-c", code, str(place), fitting.id], cwd=ROOT, check=False
    )
    assert ended.returncode == -signal.SIGKILL
    (found,) = library.drafts.of(fitting.id, "level")
    assert found.content == {"divisions": ["49", 0]}


def test_drafts_alone_are_no_reason_to_settle_and_entries_are(
    place: Path, library: Library, fitting: Fitting
) -> None:
    assert library.settle()
    log = place.with_name(f"{place.name}-wal")
    for _ in range(3):
        library.drafts.keep(a_draft(fitting))
        assert library.settle(drafts=False)
        assert log.stat().st_size > 0
    library.append(fitting.id, NoteWritten(text="confirmed"))
    assert library.settle(drafts=False)
    assert log.stat().st_size == 0
    library.append(fitting.id, NoteWritten(text="confirmed"))
    library.drafts.keep(a_draft(fitting))
    assert library.settle(drafts=False)
    assert log.stat().st_size == 0
    library.drafts.keep(a_draft(fitting))
    assert library.settle()
    assert log.stat().st_size == 0


def test_what_others_type_is_no_reason_to_read_the_library_again(
    place: Path, library: Library, fitting: Fitting
) -> None:
    with Library.open(place, "Other") as other:
        before = library.others_wrote()
        other.drafts.keep(a_draft(fitting))
        assert library.others_wrote() == before
        other.append(fitting.id, NoteWritten(text="confirmed"))
        seen = library.others_wrote()
        assert seen != before
        library.append(fitting.id, NoteWritten(text="one's own"))
        library.drafts.keep(a_draft(fitting, "two"))
        assert library.others_wrote() == seen
        other.append(fitting.id, NoteWritten(text="just before"))
        library.append(fitting.id, NoteWritten(text="one's own"))
        assert library.others_wrote() != seen, "an entry between two looks goes unnoticed"
        seen = library.others_wrote()
        other.append(fitting.id, NoteWritten(text="just before a draft"))
        library.drafts.keep(a_draft(fitting, "two"))
        assert library.others_wrote() != seen
