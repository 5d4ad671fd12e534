"""Make the library of a busy shop: thousands of decks, a million entries, all of it invented.

Run by hand: ``python tests/bench/shop_library.py PATH --decks 5000 --cartridges 2000 --fittings
20000 --entries 1000000 --customers 5000 --services 15000 --pictures 10000``; these sizes are also
what it takes if told nothing, and it needs a minute or two. Every log comes from a fitting that the
practice deck went through with no person, with readings repeated or its end left off until the
library has as many entries as asked for, so every one of them folds. Rows go in through the store's
own file, many at a time, in the store's format.
"""

from __future__ import annotations

import argparse
import random
import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Final, NamedTuple

import numpy as np

from core.fitting import Body, Finished, NoteWritten
from core.practice.faults import Difficulty
from core.practice.proof.closed_loop import Loop
from core.practice.proof.person import Person
from core.practice.rehearsal import new_rehearsal
from core.records import Cartridge, Customer, Deck, Job, PictureOf, Service, ServicePart
from core.store import Library, LibraryProblem
from core.store.jpeg import Content
from core.store.rows import folded, stamp, text_of

PATTERNS: Final = 40
"""How many different fittings are walked through; the rest of the shop is like one of them."""
AT_ONCE: Final = 2_000
SHARE_UNDER_WAY: Final = 0.03
SHARE_ARCHIVED: Final = 0.06
SHARE_REVISED: Final = 0.25
FIRST_DAY: Final = datetime(2015, 1, 5, 8, 0, tzinfo=UTC)
DAYS: Final = 365 * 10
WOODS: Final = ("oak", "ash", "walnut", "birch", "slate", "acrylic", "black", "white", "grey")
DRIVES: Final = ("belt drive", "direct drive", "idler drive")
ARMS: Final = ("9-inch arm", "10-inch arm", "12-inch arm", "short arm", "light arm", "heavy arm")
STYLI: Final = ("elliptical", "spherical", "line contact", "fine line")
MAKES: Final = ("moving magnet", "moving coil", "high output", "low output", "mono", "stereo")
PEOPLE: Final = ("Ann", "Ben", "Cleo", "Dora", "Bench two", "Saturday help", "")
REFERENCES: Final = (
    "Job {n}",
    "R-{n}/{y}",
    "{y}-{n:05}",
    "Shelf {c}{s}",
    "Müllerstraße {s}, Erbstück",
    "受付 {n}",
    "הזמנה {n}",
    "Дело {n}",
    "blue sticker 🔵 {s}",
    "loan deck {s}, comes back in the week after the holidays, ring before noon",
    "",
)
NOTES: Final = (
    "Belt looks new.",
    "Customer will fetch it on Friday.",
    "Lid hinge loose, tightened.",
    "Mat left on.",
    "Customer's own screws.",
)

HEAD: Final = (
    *("id", "deck_id", "deck_revision", "cartridge_id", "cartridge_revision", "started_at"),
    *("who", "archived", "last_at", "entry_count", "finished"),
)
LINE: Final = ("id", "fitting_id", "seq", "at", "who", "kind", "step", "body")


_SIZES: Final = (
    *("decks", "cartridges", "fittings", "entries", "customers", "services", "pictures"),
    "seed",
)


@dataclass(frozen=True, slots=True)
class Size:
    """How many of everything."""

    decks: int = 5_000
    cartridges: int = 2_000
    fittings: int = 20_000
    entries: int = 1_000_000
    customers: int = 5_000
    services: int = 15_000
    pictures: int = 10_000
    seed: int = 1


class Pattern(NamedTuple):
    """One fitting walked through: its deck, its cartridge and what was entered."""

    deck: Deck
    cartridge: Cartridge
    bodies: tuple[Body, ...]


@dataclass(slots=True)
class Shop:
    """What was put on file so far: ids and revisions by pattern."""

    decks: dict[int, list[tuple[str, int]]] = field(default_factory=dict)
    cartridges: dict[int, list[tuple[str, int]]] = field(default_factory=dict)


def fill(path: Path, size: Size) -> None:
    """Make the library at ``path``, which must not be there yet."""
    chance = random.Random(size.seed)
    patterns = walk(min(PATTERNS, size.decks, size.cartridges), size.seed)
    with Library.open(path, "Shop") as library:
        file = library._backend
        # As fast as the disk: should the power go now, the file is made anew.
        file.run("PRAGMA synchronous=OFF")
        file.run("PRAGMA cache_size=-300000")
        shop = Shop()
        with library.transaction():
            add_decks(library, shop, patterns, size.decks, chance)
            add_cartridges(library, shop, patterns, size.cartridges, chance)
            add_customers(library, size.customers, chance)
            add_services(library, shop, size.services, chance)
        add_fittings(library, shop, patterns, size, chance)
        add_pictures(library, shop, size, chance)
        file.run("PRAGMA wal_checkpoint(TRUNCATE)")
        file.run("PRAGMA optimize")


def add_customers(library: Library, count: int, chance: random.Random) -> None:
    """Keep customers, each with a job."""
    for number in range(count):
        name = f"Customer {number:05} {chance.choice(WOODS)}"
        kept = library.jobs.customers.add(
            f"customer-{number:05}", Customer(name=name, contact=f"0000 {number:06}"), who="Shop"
        )
        job = Job(number=f"S-{number:05}", brought="a deck", customer=kept.id)
        library.jobs.records.add(f"job-{number:05}", job, who="Shop")


def add_services(library: Library, shop: Shop, count: int, chance: random.Random) -> None:
    """Keep entries in the service records of decks, most with a term."""
    decks = [deck_id for kept in shop.decks.values() for deck_id, _ in kept]
    parts = list(ServicePart)
    for number in range(count):
        day = FIRST_DAY.date() + timedelta(days=chance.randrange(DAYS))
        part = chance.choice(parts)
        entry = Service(
            deck=chance.choice(decks),
            part=part,
            day=day.isoformat(),
            done=f"{part.label} seen to",
            months=chance.choice((None, 12, 24, 60)),
            hours=chance.choice((None, None, 400.0)),
        )
        library.service.records.add(f"service-{number:06}", entry, who="Shop")


def add_pictures(library: Library, shop: Shop, size: Size, chance: random.Random) -> None:
    """Keep pictures as a camera's are once they are kept: most of decks, 100 to 150 kB each."""
    owners = {
        PictureOf.DECK: [one for kept in shop.decks.values() for one, _ in kept],
        PictureOf.CARTRIDGE: [one for kept in shop.cartridges.values() for one, _ in kept],
        PictureOf.JOB: [f"job-{number:05}" for number in range(size.customers)],
        PictureOf.FITTING: [row.id for row in library.fittings()],
    }
    kinds = [kind for kind, ids in owners.items() if ids]
    weights = [{PictureOf.DECK: 6}.get(kind, 1.4) for kind in kinds]
    patterns = camera_pictures(24, size.seed) if size.pictures else []
    for start in range(0, size.pictures, 500):
        with library.transaction():
            for number in range(start, min(size.pictures, start + 500)):
                (kind,) = chance.choices(kinds, weights)
                large, small = patterns[number % len(patterns)]
                with suppress(LibraryProblem):  # one thing has as many as it may
                    library.pictures.add(
                        kind,
                        chance.choice(owners[kind]),
                        Content.of(numbered(large, number), small),
                        who="Shop",
                        day=FIRST_DAY.date() + timedelta(days=chance.randrange(DAYS)),
                        caption=chance.choice(("", "Stylus under the lens", "As it came")),
                    )


def camera_pictures(count: int, seed: int) -> list[tuple[bytes, bytes]]:
    """Return pictures with as much to be seen as a camera's, each with its small one."""
    # Imported here: a library without pictures is made where there is no Qt.
    from PySide6.QtGui import QImage

    from desktop.pictures.reading import _content, _name

    rng = np.random.default_rng(seed)
    found = []
    for number in range(count):
        coarse = rng.integers(0, 255, (75 + number, 100, 4), dtype=np.uint8)
        large = np.kron(coarse, np.ones((16, 16, 1), dtype=np.uint8))[:1200, :1600]
        large = large // 2 + rng.integers(0, 11, large.shape, dtype=np.uint8) + 50
        large = np.ascontiguousarray(large)
        image = QImage(large.data, 1600, 1200, QImage.Format.Format_RGB32)
        content = _content(image, _name("made"))
        found.append((content.image, content.small))
    return found


def numbered(jpeg: bytes, number: int) -> bytes:
    """Return the same picture with other bytes: the density in its head (T.871) is a number."""
    return jpeg[:14] + (number + 1).to_bytes(4) + jpeg[18:]


def walk(count: int, seed: int) -> list[Pattern]:
    """Walk so many fittings through, and keep those that came to an end."""
    found: list[Pattern] = []
    number = 0
    while len(found) < count:
        rng = np.random.default_rng(np.random.SeedSequence((seed, number, 3)))
        rehearsal = new_rehearsal(seed, Difficulty.ORDINARY, number=number)
        loop = Loop(rehearsal, Person.drawn(rng), number=number)
        loop.play()
        if loop.run.ended:
            bodies = tuple(entry.body for entry in loop.fitting.entries)
            found.append(Pattern(rehearsal.deck, rehearsal.cartridge, bodies))
        number += 1
    return found


def add_decks(
    library: Library, shop: Shop, patterns: Sequence[Pattern], count: int, chance: random.Random
) -> None:
    """Put decks on file: plain names, references as people write them."""
    for number in range(count):
        pattern = number % len(patterns)
        name = (
            f"Deck in {chance.choice(WOODS)}, {chance.choice(DRIVES)}, {chance.choice(ARMS)}, "
            f"no. {number + 1}"
        )
        reference = REFERENCES[number % len(REFERENCES)].format(
            n=chance.randrange(1, 9_999),
            y=chance.randrange(2015, 2026),
            c=chance.choice("ABCDEFGH"),
            s=chance.randrange(1, 60),
        )
        notes = "\n".join(chance.sample(NOTES, chance.randrange(0, 3)))
        update = {"name": name, "owner_reference": reference, "notes": notes}
        deck = patterns[pattern].deck.model_copy(update=update)
        light = (name, reference, deck.arm.kind.value)
        made = add_thing(library, "deck", deck, light, chance)
        shop.decks.setdefault(pattern, []).append(made)


def add_cartridges(
    library: Library, shop: Shop, patterns: Sequence[Pattern], count: int, chance: random.Random
) -> None:
    """Put cartridges on file."""
    for number in range(count):
        pattern = number % len(patterns)
        name = f"Cartridge, {chance.choice(STYLI)}, {chance.choice(MAKES)}, no. {number + 1}"
        cartridge = patterns[pattern].cartridge.model_copy(update={"name": name})
        light = (name, "", cartridge.stylus.value)
        made = add_thing(library, "cartridge", cartridge, light, chance)
        shop.cartridges.setdefault(pattern, []).append(made)


def add_thing(
    library: Library,
    sort: str,
    thing: Deck | Cartridge,
    light: tuple[str, str, str],
    chance: random.Random,
) -> tuple[str, int]:
    """Put one thing on file, some of them in two revisions; return its id and the newest."""
    thing_id = name_of_record(chance)
    revision = 1 + (chance.random() < SHARE_REVISED)
    at, who = some_time(chance), chance.choice(PEOPLE)
    name, owner, feature = light
    values = {
        "id": thing_id,
        "sort": sort,
        "revision": revision,
        "archived": int(chance.random() < SHARE_ARCHIVED),
        "at": stamp(at),
        "who": who,
        "name": name,
        "owner_reference": owner,
        "feature": feature,
        "folded": folded(name, owner),
    }
    library._backend.insert("things", tuple(values), [tuple(values.values())])
    first = thing.model_copy(update={"notes": f"{thing.notes} (first)".strip()})
    revisions = [first, thing][2 - revision :]
    library._backend.insert(
        "thing_revisions",
        ("thing_id", "revision", "at", "who", "body"),
        [
            (thing_id, place + 1, stamp(at), who, text_of(one))
            for place, one in enumerate(revisions)
        ],
    )
    return thing_id, revision


def add_fittings(
    library: Library, shop: Shop, patterns: Sequence[Pattern], size: Size, chance: random.Random
) -> None:
    """Put fittings on file with so many entries in all, a few thousand in one transaction."""
    heads: list[tuple[object, ...]] = []
    lines: list[tuple[object, ...]] = []
    texts = [[line_of(body) for body in pattern.bodies] for pattern in patterns]
    left = size.entries
    for number in range(size.fittings):
        share = left / (size.fittings - number)
        last = number == size.fittings - 1
        count = left if last else min(left, max(0, round(share * chance.uniform(0.55, 1.45))))
        left -= count
        pattern = chance.randrange(len(patterns))
        is_finished = count > 0 and chance.random() >= SHARE_UNDER_WAY
        fitting_id, who = name_of_record(chance), chance.choice(PEOPLE)
        begun = at = some_time(chance)
        place = 0
        for place, (kind, step, body) in enumerate(
            stretched(texts[pattern], count, chance, is_finished=is_finished), 1
        ):
            at += timedelta(seconds=chance.randrange(20, 240))
            entry_id = name_of_record(chance)
            lines.append((entry_id, fitting_id, place, stamp(at), who, kind, step, body))
        deck_id, deck_revision = chance.choice(shop.decks[pattern])
        cartridge_id, cartridge_revision = chance.choice(shop.cartridges[pattern])
        heads.append(
            (
                fitting_id,
                deck_id,
                deck_revision,
                cartridge_id,
                cartridge_revision,
                stamp(begun),
                who,
                int(chance.random() < SHARE_ARCHIVED),
                stamp(at),
                place,
                int(is_finished),
            )
        )
        if len(heads) == AT_ONCE or last:
            with library.transaction():
                library._backend.insert("fittings", HEAD, heads)
                library._backend.insert("entries", LINE, lines)
            heads.clear()
            lines.clear()


Line = tuple[str, str, str]


def line_of(body: Body) -> Line:
    """Return kind, step and text of an entry."""
    return body.kind, getattr(body, "step", ""), text_of(body)


def stretched(
    log: Sequence[Line], count: int, chance: random.Random, *, is_finished: bool
) -> Iterator[Line]:
    """Yield so many entries: the log with readings taken again and notes, or its beginning."""
    wanted = count - is_finished
    more = max(0, wanted - len(log))
    after = sorted(chance.choices(range(len(log)), k=more))
    for place, line in enumerate(log[:wanted]):
        yield line
        while after and after[0] == place:
            after.pop(0)
            if line[0] == "reading":
                yield line
            else:
                yield line_of(NoteWritten(step=line[1], text=chance.choice(NOTES)))
    if is_finished:
        yield line_of(Finished())


def name_of_record(chance: random.Random) -> str:
    """Return a name as the program makes them, but the same for the same seed."""
    return f"{chance.getrandbits(128):032x}"


def some_time(chance: random.Random) -> datetime:
    """Return a moment on some working day."""
    day = FIRST_DAY + timedelta(days=chance.randrange(DAYS))
    return day + timedelta(seconds=chance.randrange(9 * 3_600))


def main(arguments: Sequence[str]) -> int:
    """Make one, and say how long it took."""
    usual = Size()
    parser = argparse.ArgumentParser(description="Make the library of a busy shop.")
    parser.add_argument("path", type=Path, help="where; nothing may be there yet")
    for name in _SIZES:
        parser.add_argument(f"--{name}", type=int, default=getattr(usual, name))
    told = parser.parse_args(arguments)
    if told.path.exists():
        parser.error(f"{told.path} is there already")
    began = time.perf_counter()
    fill(told.path, Size(**{name: getattr(told, name) for name in _SIZES}))
    seconds = time.perf_counter() - began
    print(f"{told.path}: {told.path.stat().st_size / 1e6:.0f} MB in {seconds:.0f} s")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
