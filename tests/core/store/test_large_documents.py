"""Documents cannot stall: what is wrong is found in time and memory that grow as their size does.

Counted, not timed: how often names are compared, how many faults are kept.
"""

from __future__ import annotations

import json
import tracemalloc
from pathlib import Path

import pytest

from core.store import WorkStoppedError, documents
from core.store.document_text import DocumentProblem
from core.store.documents import document_from, read_document

HEAD = '{"format": "setdown library", "version": 4, '


def test_many_names_given_once_and_one_twice(monkeypatch: pytest.MonkeyPatch) -> None:
    names = ", ".join(f'"n{number}": 0' for number in range(100_000))
    content = f'{HEAD}"decks": [{{{names}, "n99999": 1}}]}}'.encode()
    with pytest.raises(DocumentProblem, match="the name “n99999” twice"):
        document_from(content, "names.json")  # quadratic, this would take an hour


@pytest.mark.parametrize(
    "content",
    [
        HEAD + '"decks": [' + ", ".join(["{}"] * 200_000) + "]}",
        HEAD + '"fittings": [{"entries": [' + ", ".join(["{}"] * 200_000) + "]}]}",
        HEAD + '"decks": [{"id": "a", "revisions": [' + ", ".join(["{}"] * 200_000) + "]}]}",
    ],
    ids=["empty decks", "empty entries", "empty revisions"],
)
def test_of_very_many_faults_the_first_alone_is_kept(content: str) -> None:
    tracemalloc.start()
    try:
        with pytest.raises(DocumentProblem, match="can't be imported"):
            document_from(content.encode(), "empty.json")
        _, most = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert most < 100 * len(content)


def test_a_file_beyond_the_limit_is_refused_without_being_read_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(documents, "LARGEST_BYTES", 1_000_000)
    large = tmp_path / "large.json"
    with large.open("wb") as stream:
        stream.truncate(5_000_000_000)  # takes no room on the disk
    with pytest.raises(DocumentProblem, match="larger than 1 MB") as caught:
        read_document(large)
    assert "fewer decks" in caught.value.remedy


def test_reading_can_be_stopped_between_two_records() -> None:
    example = Path(__file__).parent / "examples" / "document_1.json"
    asked: list[int] = []

    def go_on() -> bool:
        asked.append(1)
        return len(asked) < 2

    assert len(json.loads(example.read_text())["decks"]) >= 1
    with pytest.raises(WorkStoppedError):
        document_from(example.read_bytes(), "example", go_on)
    assert len(asked) == 2
