"""A program that writes to a library until it is killed; run by killing.py.

Started once; for every line on its input (a sort of work, a seed) it forks a child that does the
work, so that a child costs no start-up. On its output: ``child <pid>``, ``open <pid>`` once the
library is open, ``kept <fitting> <entry>`` for everything confirmed, ``round <n>`` for other work
done, and ``gone <pid>`` once the child has ended.
"""

from __future__ import annotations

import os
import random
import shutil
import sys
from collections.abc import Callable
from itertools import count
from pathlib import Path

from core.fitting import (
    Body,
    Control,
    Finished,
    MoveMade,
    MovePart,
    NoteWritten,
    ReadingTaken,
    new_id,
)
from core.records import Customer, Job, Service, ServicePart
from core.store import Library
from core.store.documents import Document, DocumentFitting, read_document
from core.store.importing import plan, take_in
from core.store.sqlite.address import FileAddress
from core.store.sqlite.backups import FileBackups
from tests.core.store.worked import LATER

PLACE = Path(sys.argv[1])
EXAMPLES = Path(__file__).parent / "examples"
DOCUMENT = read_document(EXAMPLES / "document_1.json")
OLDEST = EXAMPLES / "version_1.library"


def say(text: str) -> None:
    os.write(1, f"{text}\n".encode())  # one write, so that a kill leaves no half line


def write_entries(library: Library, chance: random.Random) -> None:
    """Start a fitting and enter readings, moves and notes without end."""
    deck, cartridge = library.decks()[0], library.cartridges()[0]
    fitting = library.start_fitting(deck.id, cartridge.id)
    while True:
        bodies: list[Body] = [
            ReadingTaken(step="level", reading={"slope": chance.random()}),
            MoveMade(
                step="level",
                parts=(MovePart(control=Control.FOOT, amount=chance.random(), unit="mm"),),
            ),
            NoteWritten(text="x" * chance.randrange(1, 4000)),
            Finished(),
        ]
        entry = library.append(fitting.id, chance.choice(bodies))
        say(f"kept {fitting.id} {entry.id}")


def take_in_documents(library: Library, chance: random.Random) -> None:
    """Take in fittings of 30 entries each, whole documents at a time, without end."""
    (fitting,) = DOCUMENT.fittings
    while True:
        entries = [NoteWritten(text="x" * chance.randrange(1, 4000)) for _ in range(30)]
        record = DocumentFitting.model_validate(
            fitting.model_dump()
            | {"id": new_id(), "entries": [{"body": body.model_dump()} for body in entries]}
        )
        document = Document.model_validate(DOCUMENT.model_dump() | {"fittings": [record]})
        take_in(library, plan(library, document), {})
        for entry in record.entries:
            say(f"kept {record.id} {entry.id}")


def back_up(library: Library, chance: random.Random) -> None:
    """Make backups and enter notes between them, without end."""
    deck, cartridge = library.decks()[0], library.cartridges()[0]
    fitting = library.start_fitting(deck.id, cartridge.id)
    while True:
        entry = library.append(fitting.id, NoteWritten(text="x" * chance.randrange(1, 400)))
        say(f"kept {fitting.id} {entry.id}")
        FileBackups(PLACE).make()


def restore(_library: Library, _chance: random.Random) -> None:
    """Put the library back to the state of the file beside it, without end."""
    for number in count():
        FileBackups(PLACE).restore(PLACE.with_name("early"))
        say(f"round {number}")


def migrate(library: Library, chance: random.Random) -> None:
    """Make copies of the oldest library and bring them up to date, without end."""
    library.close()
    seed = chance.randrange(10**9)
    for number in count():
        copy = PLACE.with_name(f"copy-{seed}-{number}.library")
        whole = copy.with_suffix(".being made")  # the copying is not what is tried here
        shutil.copy(OLDEST, whole)
        whole.rename(copy)
        say(f"round {number}")
        Library.open(FileAddress(copy, LATER)).close()


def forget_customers(library: Library, chance: random.Random) -> None:
    """Keep customers with two states each and their jobs, and forget some, without end."""
    known: list[str] = []
    for number in count():
        name = f"Somebody {chance.randrange(10**6)} " + "x" * chance.randrange(60)
        kept = library.keep_customer(Customer(name=name, contact="first"))
        library.keep_customer(Customer(name=name, contact="second"), id=kept.id)
        library.keep_job(Job(customer=kept.id, brought="a deck"))
        known.append(kept.id)
        if number % 3 == 2:
            library.forget_customer(known.pop(chance.randrange(len(known))))
        say(f"round {number}")


def keep_services(library: Library, _chance: random.Random) -> None:
    """Add entries to the service record of a deck and withdraw them, without end."""
    deck_id = library.decks()[0].id
    for number in count():
        entry = Service(deck=deck_id, part=ServicePart.BELT, day="2024-01-01", done=f"{number}")
        kept = library.service.add(entry, who="Writer")
        library.service.withdraw(kept.id, "2024-02-01", who="Writer")
        say(f"round {number}")


WORK: dict[str, Callable[[Library, random.Random], None]] = {
    "entries": write_entries,
    "documents": take_in_documents,
    "backups": back_up,
    "customers": forget_customers,
    "services": keep_services,
    "restorations": restore,
    "migrations": migrate,
}


def main() -> None:
    """Fork a child for every line of input and say when it is gone."""
    for line in sys.stdin:
        work, seed = line.split()
        child = os.fork()
        if child == 0:
            say(f"child {os.getpid()}")
            with Library.open(PLACE, "Writer") as library:
                say(f"open {os.getpid()}")
                WORK[work](library, random.Random(int(seed)))
        os.waitpid(child, 0)
        say(f"gone {child}")


if __name__ == "__main__":
    main()
