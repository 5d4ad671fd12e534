"""The library's tables in a file, and the migrations from older versions.

What a person entered is in the tables of revisions and in ``entries``, where rows are only ever
added. Exceptions are forgotten customers and erased pictures. List columns repeat what is there.

Times are text: UTC, ISO 8601 with microseconds, so that they sort as they happened.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

APPLICATION_ID: Final = 0x53657464
"""SQLite's application id in the file header: the letters 'Setd'."""


@dataclass(frozen=True, slots=True)
class Schema:
    """The tables of one file version, and the migrations from older ones.

    ``statements`` create a library of ``version`` in an empty file; ``migrations`` holds, for every
    older version, the statements that migrate it to the next. ``views`` holds statements by which a
    read-only connection reads an older file as if it were of this version; they change nothing in
    the file.
    """

    version: int
    statements: tuple[str, ...]
    migrations: Mapping[int, tuple[str, ...]] = field(default_factory=dict)
    views: Mapping[int, tuple[str, ...]] = field(default_factory=dict)


_VERSION_1: Final = (
    """
    CREATE TABLE facts (
        name TEXT NOT NULL PRIMARY KEY,
        content TEXT NOT NULL
    )
    """,
    # Decks and cartridges alike; sort tells which. The columns name to folded serve lists and
    # searches.
    """
    CREATE TABLE things (
        id TEXT NOT NULL PRIMARY KEY,
        sort TEXT NOT NULL CHECK (sort IN ('deck', 'cartridge')),
        revision INTEGER NOT NULL,
        archived INTEGER NOT NULL DEFAULT 0,
        at TEXT NOT NULL,
        who TEXT NOT NULL,
        name TEXT NOT NULL,
        owner_reference TEXT NOT NULL,
        feature TEXT NOT NULL,
        folded TEXT NOT NULL
    )
    """,
    "CREATE INDEX things_by_name ON things (sort, name)",
    "CREATE INDEX things_by_owner ON things (sort, owner_reference)",
    """
    CREATE TABLE thing_revisions (
        thing_id TEXT NOT NULL REFERENCES things (id),
        revision INTEGER NOT NULL,
        at TEXT NOT NULL,
        who TEXT NOT NULL,
        body TEXT NOT NULL,
        PRIMARY KEY (thing_id, revision)
    )
    """,
    # last_at, entry_count and finished repeat what the entries say.
    """
    CREATE TABLE fittings (
        id TEXT NOT NULL PRIMARY KEY,
        deck_id TEXT NOT NULL,
        deck_revision INTEGER NOT NULL,
        cartridge_id TEXT NOT NULL,
        cartridge_revision INTEGER NOT NULL,
        started_at TEXT NOT NULL,
        who TEXT NOT NULL,
        archived INTEGER NOT NULL DEFAULT 0,
        last_at TEXT NOT NULL,
        entry_count INTEGER NOT NULL DEFAULT 0,
        finished INTEGER NOT NULL DEFAULT 0,
        FOREIGN KEY (deck_id, deck_revision) REFERENCES thing_revisions (thing_id, revision),
        FOREIGN KEY (cartridge_id, cartridge_revision)
            REFERENCES thing_revisions (thing_id, revision)
    )
    """,
    "CREATE INDEX fittings_by_deck ON fittings (deck_id, started_at)",
    "CREATE INDEX fittings_by_cartridge ON fittings (cartridge_id, started_at)",
    "CREATE INDEX fittings_by_time ON fittings (last_at)",
    """
    CREATE TABLE entries (
        id TEXT NOT NULL PRIMARY KEY,
        fitting_id TEXT NOT NULL REFERENCES fittings (id),
        seq INTEGER NOT NULL,
        at TEXT NOT NULL,
        who TEXT NOT NULL,
        kind TEXT NOT NULL,
        step TEXT NOT NULL,
        body TEXT NOT NULL,
        UNIQUE (fitting_id, seq)
    )
    """,
)

_VERSION_4: Final = (
    # When it was last archived; empty if it never was, or was before this version.
    "ALTER TABLE things ADD COLUMN archived_at TEXT NOT NULL DEFAULT ''",
    "ALTER TABLE fittings ADD COLUMN archived_at TEXT NOT NULL DEFAULT ''",
    # Unsaved input in a form of a fitting. It counts for nothing: no log, document or count
    # includes it. form is a way of reading or a form for moves.
    """
    CREATE TABLE drafts (
        fitting_id TEXT NOT NULL REFERENCES fittings (id),
        step TEXT NOT NULL,
        form TEXT NOT NULL,
        window_id TEXT NOT NULL,
        at TEXT NOT NULL,
        who TEXT NOT NULL,
        body TEXT NOT NULL,
        PRIMARY KEY (fitting_id, step, form, window_id)
    )
    """,
)

_HEADS: Final = (
    *("id", "sort", "revision", "archived", "archived_at", "at", "who"),
    *("name", "owner_reference", "feature", "folded"),
)
_REVISIONS: Final = ("thing_id", "revision", "at", "who", "body")
_OF_JOBS: Final = ("received", "promised", "handed_over", "customer_id")
_OF_SERVICE: Final = ("deck_id", "day", "months", "hours", "withdrawn")
_OF_PICTURES: Final = ("owner", "thing_id", "content", "withdrawn")


def _kept_apart(heads: str, revisions: str, listed: tuple[str, ...] = ()) -> tuple[str, ...]:
    """Return a table of records and one of their revisions, with list columns.

    Neither refers to the other: to forget somebody, rows of both are deleted and inserted again,
    and SQLite overwrites whole pages only where nothing refers to them.
    """
    more = "".join(f", {one} TEXT NOT NULL DEFAULT ''" for one in listed)
    return (
        f"""
        CREATE TABLE {heads} (
            id TEXT NOT NULL PRIMARY KEY,
            sort TEXT NOT NULL,
            revision INTEGER NOT NULL,
            archived INTEGER NOT NULL DEFAULT 0,
            archived_at TEXT NOT NULL DEFAULT '',
            at TEXT NOT NULL,
            who TEXT NOT NULL,
            name TEXT NOT NULL,
            owner_reference TEXT NOT NULL,
            feature TEXT NOT NULL,
            folded TEXT NOT NULL{more}
        )
        """,
        f"""
        CREATE TABLE {revisions} (
            thing_id TEXT NOT NULL,
            revision INTEGER NOT NULL,
            at TEXT NOT NULL,
            who TEXT NOT NULL,
            body TEXT NOT NULL,
            PRIMARY KEY (thing_id, revision)
        )
        """,
    )


_VERSION_5: Final = (
    *_kept_apart("jobs", "job_revisions", _OF_JOBS),
    *_kept_apart("customers", "customer_revisions"),
    *_kept_apart("headshells", "headshell_revisions"),
    # headshell_id repeats what the entries say; empty where no headshell was named.
    "ALTER TABLE fittings ADD COLUMN headshell_id TEXT NOT NULL DEFAULT ''",
    "CREATE INDEX fittings_by_headshell ON fittings (headshell_id)",
    *_kept_apart("services", "service_revisions", _OF_SERVICE),
    "CREATE INDEX services_by_deck ON services (deck_id)",
    # job_id repeats what the entries say; empty for a fitting that belongs to no job.
    "ALTER TABLE fittings ADD COLUMN job_id TEXT NOT NULL DEFAULT ''",
    "CREATE INDEX fittings_by_job ON fittings (job_id)",
    # Repeats what the entries say: 0 for a short job, which is no check of the deck.
    "ALTER TABLE fittings ADD COLUMN is_check INTEGER NOT NULL DEFAULT 1",
    # List columns: the status of a fitting, and the months between a deck's checks. They repeat
    # what entries and records say. '?' and -1: not computed yet.
    "ALTER TABLE fittings ADD COLUMN reached TEXT NOT NULL DEFAULT '?'",
    "ALTER TABLE fittings ADD COLUMN kept INTEGER NOT NULL DEFAULT 0",
    "ALTER TABLE fittings ADD COLUMN left_found INTEGER NOT NULL DEFAULT 0",
    "ALTER TABLE fittings ADD COLUMN checked_at TEXT NOT NULL DEFAULT ''",
    "ALTER TABLE things ADD COLUMN check_months INTEGER NOT NULL DEFAULT -1",
)

_VERSION_6: Final = (
    # arm_key repeats what the entries say; empty for the first arm of its deck.
    "ALTER TABLE fittings ADD COLUMN arm_key TEXT NOT NULL DEFAULT ''",
    # Repeats keys and names of a deck's arms; empty where it has but one.
    "ALTER TABLE things ADD COLUMN arms TEXT NOT NULL DEFAULT ''",
    # Unsaved input in a form of a record, as in drafts. record_id is empty for a new record; step
    # is the name of the form.
    """
    CREATE TABLE form_drafts (
        record_id TEXT NOT NULL,
        step TEXT NOT NULL,
        form TEXT NOT NULL,
        window_id TEXT NOT NULL,
        at TEXT NOT NULL,
        who TEXT NOT NULL,
        body TEXT NOT NULL,
        PRIMARY KEY (record_id, step, form, window_id)
    )
    """,
    *_kept_apart("test_records", "test_record_revisions"),
    *_kept_apart("pictures", "picture_revisions", _OF_PICTURES),
    "CREATE INDEX pictures_by_thing ON pictures (owner, thing_id)",
    # Contents of pictures, each once. The thumbnail stands before the large picture: a list that
    # reads it need not read on.
    """
    CREATE TABLE picture_contents (
        hash TEXT NOT NULL PRIMARY KEY,
        mime TEXT NOT NULL,
        width INTEGER NOT NULL,
        height INTEGER NOT NULL,
        size INTEGER NOT NULL,
        small BLOB NOT NULL,
        image BLOB NOT NULL
    )
    """,
)

_NEW_IN_6: Final = (
    "CREATE TEMP TABLE form_drafts (record_id, step, form, window_id, at, who, body)",
    f"CREATE TEMP TABLE test_records ({', '.join(_HEADS)})",
    f"CREATE TEMP TABLE test_record_revisions ({', '.join(_REVISIONS)})",
    f"CREATE TEMP TABLE pictures ({', '.join((*_HEADS, *_OF_PICTURES))})",
    f"CREATE TEMP TABLE picture_revisions ({', '.join(_REVISIONS)})",
    "CREATE TEMP TABLE picture_contents (hash, mime, width, height, size, small, image)",
)

_NEW_IN_5: Final = (
    f"CREATE TEMP TABLE jobs ({', '.join((*_HEADS, *_OF_JOBS))})",
    f"CREATE TEMP TABLE job_revisions ({', '.join(_REVISIONS)})",
    f"CREATE TEMP TABLE customers ({', '.join(_HEADS)})",
    f"CREATE TEMP TABLE customer_revisions ({', '.join(_REVISIONS)})",
    f"CREATE TEMP TABLE headshells ({', '.join(_HEADS)})",
    f"CREATE TEMP TABLE headshell_revisions ({', '.join(_REVISIONS)})",
    f"CREATE TEMP TABLE services ({', '.join((*_HEADS, *_OF_SERVICE))})",
    f"CREATE TEMP TABLE service_revisions ({', '.join(_REVISIONS)})",
)

_BEFORE_5: Final = (
    "CREATE TEMP VIEW things AS SELECT *, -1 AS check_months, '' AS arms FROM main.things",
    (
        "CREATE TEMP VIEW fittings AS SELECT *, '' AS job_id, '' AS headshell_id, 1 AS is_check, "
        "'?' AS reached, 0 AS kept, 0 AS left_found, '' AS checked_at, "
        "'' AS arm_key FROM main.fittings"
    ),
    *_NEW_IN_5,
)

_BEFORE_4: Final = (
    (
        "CREATE TEMP VIEW things AS SELECT *, '' AS archived_at, -1 AS check_months, '' AS arms "
        "FROM main.things"
    ),
    (
        "CREATE TEMP VIEW fittings AS SELECT *, '' AS archived_at, '' AS job_id, "
        "'' AS headshell_id, 1 AS is_check, '?' AS reached, 0 AS kept, 0 AS left_found, "
        "'' AS checked_at, '' AS arm_key FROM main.fittings"
    ),
    "CREATE TEMP TABLE drafts (fitting_id, step, form, window_id, at, who, body)",
)

_BEFORE_6: Final = (
    "CREATE TEMP VIEW fittings AS SELECT *, '' AS arm_key FROM main.fittings",
    "CREATE TEMP VIEW things AS SELECT *, '' AS arms FROM main.things",
)

SCHEMA: Final = Schema(
    version=6,
    statements=(*_VERSION_1, *_VERSION_4, *_VERSION_5, *_VERSION_6),
    migrations={1: (), 2: (), 3: _VERSION_4, 4: _VERSION_5, 5: _VERSION_6},
    views={
        **dict.fromkeys((1, 2, 3), (*_BEFORE_4, *_NEW_IN_5, *_NEW_IN_6)),
        4: (*_BEFORE_5, *_NEW_IN_6),
        5: (*_BEFORE_6, *_NEW_IN_6),
    },
)
"""Versions 2 and 3 have the tables of version 1. Their logs may hold entries that an older program
can't read (2: plans, hours; 3: answers about controls, a bubble at its end, floats and water); by
the number that program says that it is too old. Version 4 added the time of archiving, and drafts.
Version 5 added kinds of entries and ways of reading, jobs, customers in tables of their own,
headshells, and the service record of decks. Version 6 added decks with several arms, fittings that
name one, test records, pictures, and drafts of records.
"""
