"""Documents with every fault a cable, a disk, another program or ill will can put into them.

Every mutation follows from the sort, the seed and its number, so that any can be made again. Used
by the test of mutated documents and, at full count, by tests/bench/hard_times.py.
"""

from __future__ import annotations

import gzip
import json
import random
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import pytest

from core.fitting import Finished, Withdrawn
from core.records import FrozenModel
from core.store import Library, LibraryProblem
from core.store.documents import FORMAT, VERSION, Document, document_from
from core.store.importing import ImportDecision, ImportPlan, plan, take_in
from core.workflow.replay import journey_of
from tests.core.store.worked import everything
from tests.worked import Bench

EXAMPLES: Final = sorted((Path(__file__).parent / "examples").glob("document_*.json"))
NAME: Final = "mutated.json"
LONGEST_SENTENCE: Final = 320

_TECHNICAL: Final = re.compile(
    r"Traceback|Error\b|Exception|pydantic|sqlite3|NoneType|object at 0x|\bsys\.|recursion"
    r"|<class|validat|discriminator|\btag\b|\bdict|\btuple\b|function-|\bregex|utf-8 codec"
)
_PLACE: Final = re.compile(r"number \d|line \d|fitting|deck|cartridge|character \d|version|format")

ODD: Final[tuple[Any, ...]] = (
    None, True, False, 0, -1, 1, 2**63, -(2**63) - 1, 1.5, -0.0, "", " ", "x", "1", "x" * 5000,
    "\x00", "\u202e", "0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-14:00", "2025-13-01",
    "deck", "level", "reading", [], {}, [[]], {"": None}, [1, 2], {"kind": "reading"}, "1e999",
)  # fmt: skip # rows of a table
PATHS: Final = (
    "../../../etc/passwd", "..", ".", "/", "C:\\library", "\\\\server\\share", "a/b\\c", "con",
    "nul.json", "a\x00b", "a\nb", "'; DROP TABLE entries; --", "%s%n", "~", "$HOME", "x" * 64,
    "x" * 65, "", "\u202etxt.exe", "ﬁ\u0301", "id\ud83d\ude00",
)  # fmt: skip # rows of a table
NUMBERS: Final = (
    "1e308",
    "-1e308",
    "1e999",
    "-1e999",
    "1e-999",
    "9" * 40,
    "-" + "9" * 400,
    "9" * 5000,
    "0." + "3" * 4000,
    "1E400",
    "00",
    "+1",
    ".5",
    "1.",
    "0x10",
    "1_000",
    "1,5",
    "-",
)

Said = dict[str, Any]
Mutation = Callable[[bytes, random.Random], bytes]


def _parsed(content: bytes) -> Said:
    said: Said = json.loads(content)
    return said


def _text(said: Any) -> bytes:
    return json.dumps(said, ensure_ascii=False).encode("utf-8", "surrogatepass")


def _places(said: Any) -> list[tuple[Any, Any]]:
    """Return every container in it with every key or index."""
    found: list[tuple[Any, Any]] = []
    if isinstance(said, dict | list):
        pairs = said.items() if isinstance(said, dict) else enumerate(said)
        for key, inner in list(pairs):
            found.append((said, key))
            found += _places(inner)
    return found


def _one_place(said: Said, chance: random.Random) -> tuple[Any, Any]:
    return chance.choice(_places(said))


def flip_bytes(content: bytes, chance: random.Random) -> bytes:
    flipped = bytearray(content)
    for _ in range(chance.randint(1, 8)):
        flipped[chance.randrange(len(flipped))] ^= 1 << chance.randrange(8)
    return bytes(flipped)


def cut_off(content: bytes, chance: random.Random) -> bytes:
    return content[: chance.randrange(len(content))]


def cut_out_or_double(content: bytes, chance: random.Random) -> bytes:
    start = chance.randrange(len(content))
    end = min(len(content), start + chance.randint(1, 400))
    again = chance.choice([b"", content[start:end] * 2, bytes(chance.randbytes(5))])
    return content[:start] + again + content[end:]


def nest_deeply(content: bytes, chance: random.Random) -> bytes:
    said = _parsed(content)
    holder, key = _one_place(said, chance)
    holder[key] = "<nest>"
    depth = chance.choice([5, 60, 150, 250, 1000, 3000, 100_000])
    opening, closing = chance.choice([(b"[", b"]"), (b'{"a":', b"}"), (b'[{"a":', b"}]")])
    return _text(said).replace(b'"<nest>"', opening * depth + b"1" + closing * depth)


def odd_number(content: bytes, chance: random.Random) -> bytes:
    text = content.decode()
    spots = list(re.finditer(r"(?<=: )-?\d+(\.\d+)?", text))
    spot = chance.choice(spots)
    return (text[: spot.start()] + chance.choice(NUMBERS) + text[spot.end() :]).encode()


def no_number(content: bytes, chance: random.Random) -> bytes:
    text = content.decode()
    spot = chance.choice(list(re.finditer(r"(?<=: )-?\d+(\.\d+)?", text)))
    word = chance.choice(["NaN", "Infinity", "-Infinity", "nan", "inf", '"NaN"', "-nan"])
    return (text[: spot.start()] + word + text[spot.end() :]).encode()


def double_key(content: bytes, chance: random.Random) -> bytes:
    text = content.decode()
    spot = chance.choice(list(re.finditer(r'"(\w+)": ', text)))
    value = json.dumps(chance.choice(ODD))
    return (text[: spot.start()] + f'"{spot[1]}": {value}, ' + text[spot.start() :]).encode()


def wrong_type(content: bytes, chance: random.Random) -> bytes:
    said = _parsed(content)
    for _ in range(chance.randint(1, 3)):
        holder, key = _one_place(said, chance)
        holder[key] = chance.choice(ODD)
    return _text(said)


def wrong_version(content: bytes, chance: random.Random) -> bytes:
    said = _parsed(content)
    if chance.random() < 0.7:
        said["version"] = chance.choice([0, -1, 2, 4, 99, 10**30, "1", 1.0, 1.5, True, None, [1]])
    else:
        said["format"] = chance.choice(["", "other", None, 1, ["setdown library"], "x" * 9000])
    return _text(said)


def wrong_encoding(content: bytes, chance: random.Random) -> bytes:
    text, few = content.decode(), chance.randint(1, 3)
    return chance.choice(
        [
            text.encode("utf-16"),
            text.encode("utf-16-le"),
            text.encode("utf-32"),
            text.replace("a", "ä").encode("latin-1", "replace"),
            b"\xef\xbb\xbf" * few + content,
            gzip.compress(content, mtime=0),
            content.replace(b"Example", b"Ex\xed\xa0\x80ample", few),
            content.replace(b"Example", b"Ex\\ud800ample", few),
            content.replace(b" ", "\u00a0".encode(), few),
            content.replace(b"Example", b"Ex\x00ample", few),
        ]
    )


def take_away(content: bytes, chance: random.Random) -> bytes:
    said = _parsed(content)
    for _ in range(chance.randint(1, 2)):
        holder, key = _one_place(said, chance)
        with suppress(KeyError, IndexError):
            del holder[key]
    return _text(said)


def move_about(content: bytes, chance: random.Random) -> bytes:
    """Copy a part over another, double or swap items of a list, add a name nobody knows."""
    said = _parsed(content)
    holder, key = _one_place(said, chance)
    match chance.randrange(4):
        case 0:
            other, name = _one_place(said, chance)
            holder[key] = json.loads(json.dumps(other[name]))
        case 1:
            lists = [h[k] for h, k in _places(said) if isinstance(h[k], list) and h[k]]
            one = chance.choice(lists)
            one.insert(chance.randrange(len(one) + 1), json.loads(json.dumps(chance.choice(one))))
        case 2:
            lists = [h[k] for h, k in _places(said) if isinstance(h[k], list) and len(h[k]) > 1]
            chance.shuffle(chance.choice(lists))
        case _:
            dicts = [h[k] for h, k in _places(said) if isinstance(h[k], dict)]
            chance.choice(dicts)[chance.choice(["unknown", "", "x" * 3000, "a.b\nc"])] = 1
    return _text(said)


def withdraw_in_circles(content: bytes, chance: random.Random) -> bytes:
    said = _parsed(content)
    log: list[Said] = chance.choice(said["fittings"])["entries"]
    for _ in range(chance.randint(1, 6)):
        number = f"{chance.getrandbits(128):032x}"
        said_of = chance.choice([number, "nobody", *(entry["id"] for entry in log)])
        body = Withdrawn(entry=said_of).model_dump()
        entry = {"id": number, "at": "2025-03-01T10:09:00Z", "who": "", "body": body}
        log.insert(chance.randrange(len(log) + 1), entry)
    circle = [entry for entry in log if entry["body"]["kind"] == "withdrawn"]
    for place, entry in enumerate(circle):
        if chance.random() < 0.6:
            entry["body"]["entry"] = circle[(place + 1) % len(circle)]["id"]
    return _text(said)


def odd_id(content: bytes, chance: random.Random) -> bytes:
    """Rename a record everywhere, so that what is left may well be sound; or in one place only."""
    said = _parsed(content)
    record = chance.choice([*said["decks"], *said["cartridges"], *said["fittings"]])
    new = chance.choice(PATHS)
    if chance.random() < 0.2:
        record["id"] = new
        return _text(said)
    old = json.dumps(record["id"]).encode()
    return _text(said).replace(old, json.dumps(new).encode())


def something_else(_content: bytes, chance: random.Random) -> bytes:
    return chance.choice(
        [b"", b" ", b"null", b"[]", b"{}", b'"x"', b"1", b"true", b"\x00" * 100, b"{" * 5000,
         b"PK\x03\x04", b"SQLite format 3\x00", b"<html></html>", b"a,b\n1,2\n", b"[" * 10**6,
         chance.randbytes(300)]
    )  # fmt: skip # rows of a table


MUTATIONS: Final[dict[str, Mutation]] = {
    "bytes flipped": flip_bytes,
    "cut off": cut_off,
    "parts cut out or doubled": cut_out_or_double,
    "nested deeply": nest_deeply,
    "huge and odd numbers": odd_number,
    "no numbers": no_number,
    "names given twice": double_key,
    "wrong types": wrong_type,
    "wrong versions": wrong_version,
    "wrong encodings": wrong_encoding,
    "taken away": take_away,
    "copied, doubled, moved": move_about,
    "withdrawn in circles": withdraw_in_circles,
    "ids that are paths": odd_id,
    "something else": something_else,
}


def mutated(originals: list[bytes], seed: int, count: int) -> Iterator[tuple[str, bytes]]:
    """Yield so many mutations, every sort in turn."""
    sorts = list(MUTATIONS)
    for number in range(count):
        chance = random.Random(f"{seed}-{number}")
        sort = sorts[number % len(sorts)]
        yield sort, MUTATIONS[sort](chance.choice(originals), chance)


# Judging


class _UndoError(Exception):
    """Ends a transaction without keeping it."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of a document: taken in (and taken back again), or refused in a sentence."""

    taken: bool
    sentence: str = ""
    remedy: str = ""

    @property
    def names_a_place(self) -> bool:
        """Whether the sentence says where in the document it is."""
        return _PLACE.search(self.sentence) is not None


def outcome_of(library: Library, content: bytes) -> Outcome:
    """Take a document in as the program does, check that all of it can be used, and take it back.

    Whatever is not a :class:`LibraryProblem` comes out of here as it is: a crash.
    """
    try:
        planned = plan(library, document_from(content, NAME))
        with suppress(_UndoError), library.transaction():
            take_in(library, planned, {item.id: ImportDecision.BOTH for item in planned.conflicts})
            _can_be_used(library, planned)
            raise _UndoError
    except LibraryProblem as problem:
        return Outcome(taken=False, sentence=problem.sentence, remedy=problem.remedy)
    return Outcome(taken=True)


def _can_be_used(library: Library, planned: ImportPlan) -> None:
    everything(library)
    assert library.faults() == []
    document: Document = planned.document
    for record in document.fittings:
        fitting = library.fitting(record.id)
        deck, cartridge = fitting.revisions
        journey_of(
            library.deck(fitting.deck_id, deck).thing,
            library.cartridge(fitting.cartridge_id, cartridge).thing,
            fitting,
        )


def fault_of_sentence(outcome: Outcome) -> str:
    """Return what is wrong with a refusal as one sentence for a person; empty if nothing is."""
    words, whole = outcome.sentence, f"{outcome.sentence} {outcome.remedy}"
    if not words or not words.endswith(".") or not outcome.remedy.endswith("."):
        return "no whole sentence"
    if len(words) > LONGEST_SENTENCE:
        return f"{len(words)} letters long"
    if not whole.isprintable():
        return "holds what can't be printed"
    technical = _TECHNICAL.search(whole)
    return f"speaks of {technical[0]!r}" if technical else ""


def content_of_tables(library: Library) -> list[tuple[Any, ...]]:
    """Return every row of every table: two equal answers are two equal libraries."""
    tables = library._backend.rows("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY 1")
    return [
        (name, *row)
        for (name,) in tables
        for row in library._backend.rows(f"SELECT * FROM {name} ORDER BY 1, 2")  # noqa: S608 - ours
    ]


@contextmanager
def library_of_examples(folder: Path) -> Iterator[tuple[Library, list[bytes]]]:
    """Yield a library that holds the first of three documents, and the documents.

    They are the stored examples and a whole fitting with readings, moves and acceptances. So some
    of what comes in is here already, some differs, and some is new.
    """
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Library, "add_starters", lambda _: None)  # so that it is quickly read
        library = Library.open(folder / "mutated.library")
    bench = Bench(who="Ada")
    bench.work_all()
    bench.note("belt replaced", "speed")
    bench.keep(Finished())
    whole = {
        "format": FORMAT,
        "version": VERSION,
        "decks": [_record("d", bench.deck)],
        "cartridges": [_record("c", bench.cartridge)],
        "fittings": [bench.fitting.model_dump(mode="json")],
    }
    originals = [path.read_bytes() for path in EXAMPLES] + [
        json.dumps(whole, ensure_ascii=False, indent=1).encode()
    ]
    take_in(library, plan(library, document_from(originals[0], NAME)), {})
    with library:
        yield library, originals


def _record(number: str, thing: FrozenModel) -> dict[str, Any]:
    revision = {"revision": 1, "at": "2025-03-04T09:00:00Z", "thing": thing.model_dump(mode="json")}
    return {"id": number, "revisions": [revision]}
