"""Libraries drawn by hypothesis: records of every sort, decks with several arms, acts on them."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from datetime import date
from typing import Any, Final

from hypothesis import strategies as st

from core.fitting import Finished, NoteWritten
from core.records import FIRST_ARM, PictureOf, arms_of
from core.store import Library, LibraryProblem
from core.store.jpeg import Content
from tests import strategies
from tests.jpegs import jpeg

Draw = Callable[[st.SearchStrategy[Any]], Any]

RECORDS: Final = (
    *("deck", "cartridge", "job", "customer", "headshell", "test record", "service", "picture"),
)
DAY: Final = date(2025, 3, 1)


def fill(library: Library, draw: Draw) -> None:
    """Keep two of most sorts, and a few fittings on any of their arms."""
    for sort in ("deck", "cartridge", "customer", "job", "headshell", "test record"):
        for _ in range(draw(st.integers(1, 2))):
            add(library, sort, draw)
    for sort in ("service", "fitting", "fitting", "picture"):
        add(library, sort, draw)


def act(library: Library, draw: Draw) -> None:
    """Do something that a person may do, to anything that is there; what is refused stays."""
    acts: list[Callable[[Library, Draw], None]] = [_add, _revise, _revise, _go_on, _put_away]
    acts += [_of_service, _of_picture, _forget]
    with suppress(LibraryProblem, LookupError):
        draw(st.sampled_from(acts))(library, draw)


def add(library: Library, sort: str, draw: Draw) -> None:
    """Keep something new of a sort."""
    if sort == "fitting":
        deck_id, cartridge_id = one_of(library, "deck", draw), one_of(library, "cartridge", draw)
        arm = draw(st.sampled_from(arms_of(library.deck(deck_id).thing))).key
        shell = one_of(library, "headshell", draw)
        library.start_fitting(
            deck_id,
            cartridge_id,
            arm_key=arm or FIRST_ARM,
            job_id=draw(st.sampled_from(["", one_of(library, "job", draw)])),
            headshell=draw(st.sampled_from([None, library.used_headshell(shell)])),
        )
    elif sort == "picture":
        of = draw(st.sampled_from(PictureOf))
        made = Content.of(jpeg(40, 30, draw(st.integers(1, 4))), jpeg(8, 8))
        thing = one_of(library, of.value, draw)
        library.pictures.add(of, thing, made, who="", day=DAY, caption=draw(st.text(max_size=5)))
    elif sort == "service":
        library.service.add(_thing(library, sort, draw), who="")
    elif sort == "job":
        library.keep_job(_thing(library, sort, draw))
    else:
        library.records(sort).keep(_thing(library, sort, draw), None, who=library.who)


def one_of(library: Library, sort: str, draw: Draw) -> str:
    """Draw the number of anything of a sort that was not put away; LookupError if nothing is."""
    ids = _in_use(library, sort)
    if not ids:
        raise LookupError(sort)
    return str(draw(st.sampled_from(range(len(ids))).map(ids.__getitem__)))


def _in_use(library: Library, sort: str) -> list[str]:
    """Return the numbers in the order in which things were made: numbers differ in every run."""
    if sort == "fitting":
        fittings = library.fittings(archived=False)
        return [row.id for row in sorted(fittings, key=lambda row: (row.started_at, row.id))]
    store = library.records(sort)
    ids = [row.id for row in store.rows(archived=False)]
    return sorted(ids, key=lambda one: (store.history(one)[0].at, one))


def _thing(library: Library, sort: str, draw: Draw) -> Any:
    if sort == "service":
        return draw(strategies.services(one_of(library, "deck", draw)))
    if sort == "job":
        return draw(strategies.jobs(draw(st.sampled_from(["", one_of(library, "customer", draw)]))))
    drawn = {
        "deck": strategies.decks_with_arms(),
        "cartridge": strategies.cartridges(),
        "customer": strategies.CUSTOMERS,
        "headshell": strategies.headshells(),
        "test record": strategies.cut_records(),
    }
    return draw(drawn[sort])


def _add(library: Library, draw: Draw) -> None:
    add(library, draw(st.sampled_from((*RECORDS, "fitting"))), draw)


def _revise(library: Library, draw: Draw) -> None:
    sort = draw(st.sampled_from(("deck", "deck", *RECORDS[1:6])))
    record_id, thing = one_of(library, sort, draw), _thing(library, sort, draw)
    if sort == "deck":
        library.keep_deck(thing, id=record_id)
    elif sort == "job":
        number = library.jobs.records.get(record_id).thing.number
        library.keep_job(thing.model_copy(update={"number": number}), id=record_id)
    elif sort == "customer":
        library.keep_customer(thing, id=record_id)
    else:
        library.records(sort).keep(thing, record_id, who=library.who)


def _go_on(library: Library, draw: Draw) -> None:
    body = draw(st.sampled_from([NoteWritten(text="went on"), Finished()]))
    library.append(one_of(library, "fitting", draw), body)


def _put_away(library: Library, draw: Draw) -> None:
    sort = draw(st.sampled_from((*RECORDS[:6], "fitting")))
    one = one_of(library, sort, draw)
    # Of each sort one is left to go on with; what every library begins with is put away in each
    # by itself.
    if len(_in_use(library, sort)) > 1 and not one.startswith("starter"):
        library.archive(sort, [one], archived=True)


def _of_service(library: Library, draw: Draw) -> None:
    library.service.withdraw(one_of(library, "service", draw), draw(strategies.DAYS), who="")


def _of_picture(library: Library, draw: Draw) -> None:
    one = one_of(library, "picture", draw)
    way = draw(st.sampled_from(("say", "withdraw", "erase")))
    if way == "say":
        library.pictures.say(one, draw(st.text(max_size=5)), who="")
        return
    library.pictures.withdraw(one, "2025-04-01", who="")
    if way == "erase":
        library.erase_picture(one)


def _forget(library: Library, draw: Draw) -> None:
    library.forget_customer(one_of(library, "customer", draw))
