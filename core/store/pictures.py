"""Pictures of decks, cartridges, jobs and fittings: their records and their contents.

Records (caption, date, subject) have revisions, in tables of their own. Contents stand in a further
table, once each, with a thumbnail for lists; the large image is read only when one picture is
opened. Erasing a picture removes its content from the file; its record stays.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Sequence
from datetime import date, datetime
from typing import Final

from core.fitting import new_id
from core.language import Name, message
from core.records import KeptPicture, PictureOf
from core.store import problems
from core.store.backend import Backend, Conditions
from core.store.jpeg import (
    LONGEST_SMALL_EDGE,
    MOST_SMALL_BYTES,
    Content,
    NoPictureError,
    size_of_jpeg,
)
from core.store.revisions import RevisionStore
from core.store.rows import Stored

MOST_OF_ONE: Final = 40
"""Largest number of pictures that count for one subject."""

_CONTENT: Final = ("hash", "mime", "width", "height", "size", "small", "image")


class Pictures:
    """All pictures of a library. ``has`` says whether a record with this sort and id exists."""

    def __init__(self, backend: Backend, has: Callable[[str, str], bool]) -> None:
        self._backend = backend
        self._has = has
        self.records: RevisionStore[KeptPicture] = RevisionStore(
            backend,
            "picture",
            KeptPicture,
            lambda one: (one.caption or one.day, "", one.content),
            more=lambda one: {
                "owner": one.of.value,
                "thing_id": one.thing,
                "content": "" if one.erased else one.content,
                "withdrawn": one.withdrawn,
            },
        )

    def add(
        self,
        of: PictureOf,
        thing_id: str,
        content: Content,
        *,
        who: str,
        day: date,
        caption: str = "",
        picture_id: str | None = None,
    ) -> Stored[KeptPicture]:
        """Keep a picture of a subject; if it has the same one, return that or bring it back.

        Raises NO_SUCH_RECORD for an unknown subject, UNSUITABLE if it has the largest number of
        pictures. With an id of the caller's, a failed call can be repeated without a second
        picture.
        """
        with self._backend.transaction():
            if not self._has(of.value, thing_id):
                raise problems.no_such(of.value, thing_id)
            if picture_id is not None and self.records.has(picture_id):
                return self.records.get(picture_id)
            same = self.same(of.value, thing_id, content.hash)
            if same is not None and not self.records.get(same).thing.withdrawn:
                return self.records.get(same)
            if self.count_of(of.value, thing_id) >= MOST_OF_ONE:
                raise problems.unsuitable(message("pictures.most", count=MOST_OF_ONE))
            if same is not None:
                return self.withdraw(same, "", who=who)
            self.keep_content(content)
            picture = KeptPicture(
                of=of, thing=thing_id, content=content.hash, caption=caption, day=day.isoformat()
            )
            return self.records.add(picture_id or new_id(), picture, who=who)

    def say(
        self, picture_id: str, caption: str, *, who: str, based_on: int | None = None
    ) -> Stored[KeptPicture]:
        """Change the caption of a picture; raises CHANGED_ELSEWHERE if that was done meanwhile."""
        return self._change(picture_id, "caption", caption, who, based_on)

    def withdraw(self, picture_id: str, day: str, *, who: str) -> Stored[KeptPicture]:
        """Withdraw a picture from this day on; an empty day brings it back.

        Raises UNSUITABLE if it can't come back: too many pictures, or its content was erased.
        """
        with self._backend.transaction():
            now = self.records.get(picture_id).thing
            if now.erased:
                raise problems.unsuitable(message("pictures.was_erased", day=Name(now.erased)))
            if now.withdrawn and not day and self.count_of(*now.owner) >= MOST_OF_ONE:
                raise problems.unsuitable(message("pictures.most", count=MOST_OF_ONE))
            return self._change(picture_id, "withdrawn", day, who)

    def erase(self, picture_id: str, day: str, *, who: str, at: datetime) -> bool:
        """Erase the content of a picture from the file for good; its record stays.

        Returns whether there was anything to erase. Content that another picture shares stays.
        """
        with self._backend.transaction():
            now = self.records.get(picture_id).thing
            if now.erased:
                return False
            erased = {"withdrawn": now.withdrawn or day, "erased": day}
            self.records.add(picture_id, now.model_copy(update=erased), who=who, at=at)
            if not self.with_content(now.content):
                self._backend.delete("picture_contents", {"hash": now.content})
        return True

    def with_content(self, content: str) -> tuple[str, ...]:
        """Return the ids of all pictures with this content, archived and withdrawn ones too."""
        found = self._backend.select("pictures", ("id",), {"content": content})
        return tuple(sorted(one for (one,) in found))

    def _change(
        self, picture_id: str, field: str, value: str, who: str, based_on: int | None = None
    ) -> Stored[KeptPicture]:
        with self._backend.transaction():
            now = self.records.get(picture_id)
            said = {**now.thing.model_dump(), field: value}
            changed = KeptPicture.model_validate(said)
            return self.records.keep(
                changed, picture_id, who=who, based_on=based_on or now.revision
            )

    def of(
        self, sort: str, thing_id: str, *, withdrawn: bool = False
    ) -> tuple[Stored[KeptPicture], ...]:
        """Return the unarchived pictures of a subject, oldest first.

        ``withdrawn`` includes those that were withdrawn.
        """
        where: Conditions = {"owner": sort, "thing_id": thing_id, "archived": 0}
        if not withdrawn:
            where = {**where, "withdrawn": ""}
        with self._backend.snapshot():
            found = self._backend.select("pictures", ("id",), where)
            kept = [self.records.get(picture_id) for (picture_id,) in found]
            ids = tuple(one.id for one in kept)
            first: Conditions = {"thing_id": ids, "revision": 1}
            said = self._backend.select("picture_revisions", ("thing_id", "at"), first)
            added: dict[str, str] = dict(said)
        return tuple(sorted(kept, key=lambda one: (one.thing.day, added.get(one.id, ""), one.id)))

    def count_of(self, sort: str, thing_id: str) -> int:
        """Return how many pictures of a subject count."""
        where: Conditions = {"owner": sort, "thing_id": thing_id, "archived": 0, "withdrawn": ""}
        return len(self._backend.select("pictures", ("id",), where))

    def same(self, sort: str, thing_id: str, content: str) -> str | None:
        """Return the id of a subject's picture with this content, or None."""
        where: Conditions = {"owner": sort, "thing_id": thing_id, "content": content, "archived": 0}
        found = self._backend.select("pictures", ("id",), where)
        return str(found[0][0]) if found else None

    def ids_of(self, sort: str, thing_ids: Sequence[str]) -> tuple[str, ...]:
        """Return the ids of all pictures of these subjects, withdrawn ones too."""
        where: Conditions = {"owner": sort, "thing_id": tuple(thing_ids), "archived": 0}
        return tuple(sorted(one for (one,) in self._backend.select("pictures", ("id",), where)))

    # contents

    def keep_content(self, content: Content) -> None:
        """Keep the content of a picture, unless it is there."""
        with self._backend.transaction():
            if not self.has_content(content.hash):
                self._backend.insert("picture_contents", _CONTENT, [content.row()])

    def has_content(self, content: str) -> bool:
        """Whether there is content with this digest."""
        return bool(self._backend.select("picture_contents", ("hash",), {"hash": content}))

    def image(self, content: str) -> bytes | None:
        """Return a picture as JPEG; None if it is missing or does not match its digest."""
        found = self._backend.select("picture_contents", ("image",), {"hash": content})
        image = found[0][0] if found else None
        if not isinstance(image, bytes) or hashlib.sha256(image).hexdigest() != content:
            return None
        return image

    def small(self, content: str) -> bytes | None:
        """Return the thumbnail as JPEG; None if it is missing or invalid."""
        found = self._backend.select("picture_contents", ("small",), {"hash": content})
        small = found[0][0] if found else None
        try:
            size_of_jpeg(small or b"", LONGEST_SMALL_EDGE, MOST_SMALL_BYTES)
        except (NoPictureError, TypeError, AttributeError):  # text where bytes belong
            return None
        return small

    def content(self, content: str) -> Content | None:
        """Return all content with a digest; None if it is missing or incomplete."""
        image, small = self.image(content), self.small(content)
        try:
            return None if image is None or small is None else Content.of(image, small)
        except NoPictureError:
            return None

    def bytes_of(self, picture_ids: Iterable[str]) -> int:
        """Return the size of these pictures in bytes, each content counted once."""
        wanted: Conditions = {"id": tuple(picture_ids)}
        contents = {one for (one,) in self._backend.select("pictures", ("content",), wanted)}
        sizes = self._backend.select("picture_contents", ("size",), {"hash": tuple(contents)})
        return sum(int(size) for (size,) in sizes)
