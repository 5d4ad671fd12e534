"""Documents go out readable, come in whole or not at all, and say what is wrong with them."""

from __future__ import annotations

import errno
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from core.fitting import Control, Finished, Fitting, Gain, MovePart, Planned, ReadingTaken, Start
from core.store import Library, LibraryAddress, LibraryProblem, ProblemKind, files
from core.store.documents import DocumentProblem, document_from, read_document
from core.store.exporting import (
    Selection,
    of_cartridges,
    of_decks,
    of_fittings,
    of_library,
    write_document,
)
from core.store.importing import MatchKind, plan, take_in
from tests.core.store.worked import NOON, content_of, everything, work_on

EXAMPLES = Path(__file__).parent / "examples"

PLANNED = Planned(
    from_fitting="a fitting that is not in the document",
    starts=(
        Start(
            step="rough_downforce",
            key="downforce",
            part=MovePart(control=Control.COUNTERWEIGHT, amount=-2.5, unit="turns"),
            predicted=1.8,
            half_width=0.3,
            unit="gf",
            reason="The new cartridge is heavier.",
        ),
        Start(step="arm_height", key="height", predicted=0.0, half_width=1.4, unit="mm"),
    ),
    gains=(
        Gain(
            step="final_downforce",
            control=Control.COUNTERWEIGHT,
            value=0.51,
            half_width=0.06,
            unit="gf/turn",
            samples=4,
            stated=0.43,
        ),
    ),
)


def test_a_document_is_readable_and_says_what_it_is(
    library: Library, fitting: Fitting, tmp_path: Path
) -> None:
    work_on(library, fitting)
    path = tmp_path / "out.json"
    write_document(library, path, of_decks(library, fitting.deck_id), NOON)
    said = json.loads(path.read_text(encoding="utf-8"))
    assert said["format"] == "setdown library"
    assert said["version"] == 5
    assert said["title"] == "Example deck, 9-inch arm, three feet"
    assert [one["id"] for one in said["decks"]] == [fitting.deck_id]
    assert [one["id"] for one in said["cartridges"]] == [fitting.cartridge_id]
    assert len(said["fittings"][0]["entries"]) == len(library.fitting(fitting.id).entries)
    assert path.read_text(encoding="utf-8").count("\n") > 100


@pytest.mark.parametrize("of", [of_decks, of_cartridges, of_fittings])
def test_a_selection_stands_on_its_own(
    library: Library, fitting: Fitting, of: Callable[..., Selection]
) -> None:
    wanted = {
        of_decks: fitting.deck_id,
        of_cartridges: fitting.cartridge_id,
        of_fittings: fitting.id,
    }
    document = document_from(content_of(library, of(library, wanted[of])), "x")
    assert len(document.cartridges) == 1
    assert len(document.fittings) == (0 if of is of_cartridges else 1)


def test_a_whole_library_arrives_on_another_bench(
    library: Library, fitting: Fitting, other_address: LibraryAddress, tmp_path: Path
) -> None:
    work_on(library, fitting)
    library.archive("deck", [fitting.deck_id], archived=True)
    write_document(library, tmp_path / "all.json", of_library(library), NOON)
    with Library.open(other_address) as other:
        planned = plan(other, read_document(tmp_path / "all.json"))
        assert planned.count(MatchKind.NEW) == 3
        assert planned.conflicts == ()
        take_in(other, planned, {})
        assert everything(other) == everything(library)
        assert other.fittings() == library.fittings()
        assert other.faults() == []


def test_the_same_document_again_adds_nothing(library: Library, fitting: Fitting) -> None:
    work_on(library, fitting)
    document = document_from(content_of(library, of_library(library)), "x")
    planned = plan(library, document)
    assert {item.status for item in planned.items} == {MatchKind.SAME}
    before = everything(library)
    take_in(library, planned, {})
    assert everything(library) == before


def test_an_older_document_adds_nothing_and_a_later_one_goes_on(
    library: Library, fitting: Fitting, other_address: LibraryAddress
) -> None:
    early = document_from(content_of(library, of_decks(library, fitting.deck_id)), "early")
    work_on(library, fitting)
    late = document_from(content_of(library, of_decks(library, fitting.deck_id)), "late")
    assert {item.status for item in plan(library, early).items} == {MatchKind.SAME}
    with Library.open(other_address) as other:
        take_in(other, plan(other, early), {})
        planned = plan(other, late)
        assert {item.sort: item.status for item in planned.items} == {
            "deck": MatchKind.AHEAD,
            "cartridge": MatchKind.SAME,
            "fitting": MatchKind.AHEAD,
        }
        take_in(other, planned, {})
        assert other.fitting(fitting.id) == library.fitting(fitting.id)
        assert other.deck_records.history(fitting.deck_id) == library.deck_records.history(
            fitting.deck_id
        )


BAD: list[tuple[bytes | Callable[[dict[str, Any]], Any], str]] = [
    (b"", "not a complete JSON"),
    (b"[]", "not a Setdown document"),
    (b"{}", "not a Setdown document"),
    (b'{"format": "something else", "version": 1}', "not a Setdown document"),
    (b'{"format": "setdown library"}', "which version"),
    (b'{"format": "setdown library", "version": true}', "which version"),
    (b'{"format": "setdown library", "version": "1"}', "which version"),
    (b'{"format": "setdown library", "version": 6}', "newer version of Setdown"),
    (b'{"format": "setdown library", "version": 1, "decks": [', "not a complete JSON"),
    (b'{"format": "setdown library", "version": 1, "title": "\\ud800"}', "a broken character"),
    (b'{"format": "setdown library", "version": 1, "made_at": 1e999}', "is too large"),
    (b'{"format": "setdown library", "version": 1, "title": NaN}', "not a complete JSON"),
    (b"\xff\xfe{}", "not UTF-8 text"),
    (b"[" * 100_000, "nested too deeply"),
    (lambda said: said.update(more=1), "more"),
    (lambda said: said.update(made_at="9999-12-31T23:59:59-10:00"), "years 1 to 9999"),
    (lambda said: said["decks"][0].update(id=""), "deck 1, 'id'"),
    (lambda said: said["decks"][0].update(revisions=[]), "deck 1, 'revisions'"),
    (lambda said: said["decks"][0]["revisions"][0].update(revision=2), "numbered 1, 2, 3"),
    (lambda said: said["decks"][0]["revisions"][0].update(at="2025-03-01T10:00:00"), "at"),
    (
        lambda said: said["decks"][0]["revisions"][0]["thing"]["arm"].update(
            effective_length_mm=10**400
        ),
        "'effective length mm'",
    ),
    (
        lambda said: said["decks"][0]["revisions"][0]["thing"]["arm"].update(
            effective_length_mm=9.4
        ),
        "must lie between 20 and 480",
    ),
    (lambda said: said["decks"].append(said["decks"][0]), "the same number"),
    (lambda said: said["decks"].clear(), "not in the document"),
    (lambda said: said["fittings"].append(said["fittings"][0]), "the same number"),
    (lambda said: said["fittings"][0].update(deck_revision=10**30), "not in the document"),
    (lambda said: said["fittings"][0].update(cartridge_revision=0), "not in the document"),
    (lambda said: said["fittings"][0].update(started_at="0001-01-01T00:00:00+10:00"), "years 1"),
    (
        lambda said: said["fittings"][0]["entries"][0].update(at="0001-01-01T00:00:00+10:00"),
        "years 1",
    ),
    (
        lambda said: said["fittings"][0]["entries"].append(said["fittings"][0]["entries"][0]),
        "Two entries",
    ),
    (
        lambda said: said["fittings"][0]["entries"][0].update(body={"kind": "?"}),
        "entry 1, 'body' is of a kind",
    ),
    (
        lambda said: said["fittings"][0]["entries"][0].update(
            body={"kind": "reading", "step": "dancing", "reading": {}}
        ),
        "no step is called “dancing”",
    ),
    (
        lambda said: said["fittings"][0]["entries"][0].update(
            body={
                "kind": "planned",
                "from_fitting": "f",
                "starts": [{"step": "dancing", "key": ""}],
            }
        ),
        "no step is called “dancing”",
    ),
    (
        lambda said: said["fittings"][0]["entries"][0].update(
            body={"kind": "reading", "step": "", "reading": {}}
        ),
        "belongs to no step",
    ),
    (
        lambda said: said["fittings"][0]["entries"][0].update(
            body={"kind": "reading", "step": "level", "reading": {"way": "guessing"}}
        ),
        "fitting 1, entry 1",
    ),
]


@pytest.mark.parametrize(
    ("harm", "sentence"), BAD, ids=[f"{n}: {s}" for n, (_, s) in enumerate(BAD)]
)
def test_every_bad_document_gets_one_clear_sentence(
    library: Library,
    fitting: Fitting,
    harm: bytes | Callable[[dict[str, Any]], Any],
    sentence: str,
) -> None:
    work_on(library, fitting)
    if callable(harm):
        said = json.loads(content_of(library, of_decks(library, fitting.deck_id)))
        harm(said)
        harm = json.dumps(said).encode()
    with pytest.raises(DocumentProblem, match=sentence) as caught:
        document_from(harm, "bench.json")
    assert caught.value.sentence.startswith("bench.json ")
    assert caught.value.sentence.endswith(".")
    assert "\n" not in caught.value.sentence
    assert caught.value.remedy


def test_files_that_cannot_be_read_or_written_are_said(library: Library, tmp_path: Path) -> None:
    with pytest.raises(LibraryProblem) as caught:
        read_document(tmp_path / "none.json")
    assert caught.value.kind is ProblemKind.VANISHED
    _speaks_of_a_file(caught.value)
    with pytest.raises(DocumentProblem, match="is a folder, not a document") as refused:
        read_document(tmp_path)
    _speaks_of_a_file(refused.value)
    with pytest.raises(LibraryProblem) as caught:
        write_document(library, tmp_path / "no" / "x.json", of_library(library))
    assert caught.value.kind is ProblemKind.MISSING_FOLDER
    with pytest.raises(LibraryProblem) as caught:
        write_document(library, tmp_path, of_library(library))
    _speaks_of_a_file(caught.value)


@pytest.mark.parametrize(
    ("number", "kind"),
    [
        (errno.ENOSPC, ProblemKind.FULL),
        (errno.EROFS, ProblemKind.READ_ONLY),
        (errno.EIO, ProblemKind.DISK_FAULT),
    ],
)
def test_a_document_that_cannot_be_written_is_not_taken_for_the_library(
    library: Library,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    number: int,
    kind: ProblemKind,
) -> None:
    def refuse(_path: Path) -> None:
        raise OSError(number, "refused")

    monkeypatch.setattr(files, "sync_file", refuse)
    with pytest.raises(LibraryProblem) as caught:
        write_document(library, tmp_path / "x.json", of_library(library))
    assert caught.value.kind is kind
    _speaks_of_a_file(caught.value)


def _speaks_of_a_file(problem: LibraryProblem) -> None:
    assert not problem.sentence.startswith("The library")
    assert "screen" not in problem.remedy, "nothing that was typed is in danger"


def test_a_document_that_fails_halfway_leaves_the_old_one(library: Library, tmp_path: Path) -> None:
    path = tmp_path / "out.json"
    path.write_text("the old one")
    with pytest.raises(LibraryProblem):
        write_document(library, path, Selection("x", decks=("nothing",)))
    assert path.read_text() == "the old one"
    assert sorted(p.name for p in tmp_path.iterdir() if "library" not in p.name) == ["out.json"]


def test_the_first_version_of_documents_keeps_opening(library: Library) -> None:
    planned = plan(library, read_document(EXAMPLES / "document_1.json"))
    take_in(library, planned, {})
    (row,) = library.fittings()
    again = library.fitting(row.id)
    assert (row.owner_reference, row.finished) == ("Job 17", True)
    assert [entry.body.kind for entry in again.entries] == [
        "note",
        "reading",
        "withdrawn",
        "revised",
        "finished",
    ]
    assert again.revisions == (2, 1)
    assert library.deck(row.deck_id, 2).thing.arm.offset_deg == 22.5
    assert isinstance(again.entries[1].body, ReadingTaken)
    assert isinstance(again.entries[-1].body, Finished)


def test_the_second_version_of_documents_keeps_opening(library: Library) -> None:
    take_in(library, plan(library, read_document(EXAMPLES / "document_2.json")), {})
    (row,) = library.fittings()
    fitting = library.fitting(row.id)
    planned = fitting.planned
    assert planned is not None
    assert planned.from_fitting == "a fitting that is not in the document"
    assert [start.key for start in planned.starts] == ["downforce", "height"]
    assert planned.starts[0].part is not None
    assert planned.starts[0].part.control is Control.COUNTERWEIGHT
    assert [gain.unit for gain in planned.gains] == ["gf/turn"]


def test_a_plan_travels_though_the_fitting_it_came_from_stays(
    library: Library, fitting: Fitting, other_address: LibraryAddress
) -> None:
    begun = library.start_fitting(
        fitting.deck_id, fitting.cartridge_id, at=NOON, who="Bo", planned=PLANNED
    )
    assert library.fitting(begun.id) == begun
    assert begun.planned == PLANNED
    document = document_from(content_of(library, of_fittings(library, begun.id)), "one.json")
    assert [one.id for one in document.fittings] == [begun.id]
    with Library.open(other_address) as other:
        take_in(other, plan(other, document), {})
        assert other.fitting(begun.id) == begun
        assert not other.log.has(fitting.id)
        assert {i.status for i in plan(other, document).items} == {MatchKind.SAME}


def test_a_plan_and_its_fitting_are_kept_together_or_not_at_all(
    library: Library, fitting: Fitting, monkeypatch: pytest.MonkeyPatch
) -> None:
    def gives_way(*_: object) -> None:
        raise LibraryProblem(ProblemKind.VANISHED, "The disk is gone.", "Bring it back.")

    monkeypatch.setattr(library.log, "extend", gives_way)
    with pytest.raises(LibraryProblem):
        library.start_fitting(fitting.deck_id, fitting.cartridge_id, planned=PLANNED)
    monkeypatch.undo()
    assert [row.id for row in library.fittings()] == [fitting.id]
