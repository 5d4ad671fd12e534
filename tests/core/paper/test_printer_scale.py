from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from core.paper.printer_scale import PrinterScale, keep_scale, scale_of
from core.paper.sheet import PaperProblem
from core.store import Library, LibraryProblem


@pytest.fixture
def library(tmp_path: Path) -> Iterator[Library]:
    with Library.open(tmp_path / "bench.library") as library:
        yield library


def found(printer: str, factor: float) -> PrinterScale:
    return PrinterScale(
        printer=printer, factor=factor, accepted=False, measured_x_mm=149.0, measured_y_mm=149.1
    )


def test_a_scale_is_found_again_under_its_printers_name(library: Library) -> None:
    kept = found("Desk printer", 1.0067)
    keep_scale(library, kept)
    assert scale_of(library, "desk  PRINTER ") == kept
    assert scale_of(library, "Hall printer") is None


def test_each_printer_has_its_own_and_the_last_one_counts(library: Library) -> None:
    keep_scale(library, found("Desk printer", 1.01))
    keep_scale(library, found("Hall printer", 0.99))
    keep_scale(library, found("Desk printer", 1.02))
    factors = {}
    for name in ("Desk printer", "Hall printer"):
        kept = scale_of(library, name)
        assert kept is not None
        factors[name] = kept.factor
    assert factors == {"Desk printer": 1.02, "Hall printer": 0.99}


def test_it_is_there_when_the_library_is_opened_again(tmp_path: Path) -> None:
    path = tmp_path / "bench.library"
    with Library.open(path) as library:
        keep_scale(library, found("Desk printer", 1.01))
    with Library.open(path, read_only=True) as library:
        kept = scale_of(library, "Desk printer")
        assert kept is not None
        assert kept.factor == 1.01
        with pytest.raises(LibraryProblem, match="look only"):
            keep_scale(library, found("Desk printer", 1.02))


def test_a_printer_without_a_name_and_words_of_a_later_version(library: Library) -> None:
    with pytest.raises(PaperProblem, match="name"):
        scale_of(library, "   ")
    library.keep_fact("scale of printer: desk printer", '{"unheard of": 1}')
    assert scale_of(library, "Desk printer") is None
