"""Documents with any fault a cable, a disk or a careless hand can put into them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

import pytest

from core.store import Library
from tests.core.store.mutating import (
    MUTATIONS,
    content_of_tables,
    fault_of_sentence,
    library_of_examples,
    mutated,
    outcome_of,
)

pytestmark = pytest.mark.long

Examples = tuple[Library, list[bytes]]


@pytest.fixture(scope="module")
def examples(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Examples]:
    with library_of_examples(tmp_path_factory.mktemp("mutated")) as found:
        yield found


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_mutated_document_is_taken_or_refused_in_a_sentence_and_never_half(
    examples: Examples, seed: int
) -> None:
    library, originals = examples
    before = content_of_tables(library)
    became: Counter[bool] = Counter()
    for number, (sort, content) in enumerate(mutated(originals, seed, 10 * len(MUTATIONS))):
        outcome = outcome_of(library, content)
        assert content_of_tables(library) == before, f"{sort}, number {number}"
        became[outcome.taken] += 1
        if not outcome.taken:
            fault = fault_of_sentence(outcome)
            assert not fault, f"{sort}, number {number}: {fault}: {outcome.sentence}"
    assert became[True] > 0
    assert became[False] > became[True]


def test_the_unchanged_documents_are_taken_and_broken_ones_refused(examples: Examples) -> None:
    library, originals = examples
    for content in originals:
        assert outcome_of(library, content).taken
        broken = outcome_of(library, content[:-10])
        assert not broken.taken
        assert "line" in broken.sentence


@pytest.mark.parametrize(
    ("old", "new", "part"),
    [
        (
            b'"pitch_mm_per_turn": 1.25',
            b'"pitch_mm_per_turn": "x"',
            "'pitch mm per turn' must be a",
        ),
        (b'"landing_mm": 0.5', b'"landing_mm": 99', "'landing mm' must lie between"),
        (b'"version": 1', b'"version": 99', "newer version"),
        (b'"version": 1', b'"version": true', "which version"),
        (b'"archived": false', b'"archived": false, "archived": true', "“archived” twice"),
        (b'"downforce_gf": 1.95', b'"downforce_gf": 1e999', "is too large"),
        (b'"downforce_gf": 1.95', b'"downforce_gf": NaN', "goes wrong at line"),
        (b'"step": "rough_downforce"', b'"step": "polish"', "fitting 1, entry 2: no step"),
        (b'"kind": "finished"', b'"kind": "sold"', "entry 5, 'body' is of a kind"),
        (b'"who": "Bo"', b'"who": 5', "fitting 1, entry 4, 'who' must be text"),
        (b"Example", b"Ex\\ud800", "a broken character"),
        (b"Example", b"Ex\xff", "not UTF-8 text"),
    ],
)
def test_the_sentence_says_where_and_what(
    examples: Examples, old: bytes, new: bytes, part: str
) -> None:
    library, (first, *_) = examples
    assert old in first
    outcome = outcome_of(library, first.replace(old, new, 1))
    assert not outcome.taken
    assert part in outcome.sentence
    assert fault_of_sentence(outcome) == ""
