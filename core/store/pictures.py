"""Pictures of decks, cartridges, jobs and fittings: what is said of them, and what they show.

What is said has revisions, in tables of its own. What they show stands in a further table, once
for every content, each with a small one for lists; nothing but a look at one picture reads the
large one. Erasing a picture takes that out of the file; what is said of it stays.
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
from core.store.backend import Backend, Where
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
"""So many pictures of one thing count at a time."""

_CONTENT: Final = ("hash", "mime", "width", "height", "size", "small", "image")


class Pictures:
    """All pictures of a library. ``has`` says whether there is a record of a sort and number."""

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
        """Keep a picture of a thing; one that it has already is returned as it is, or counts again.

        NO_SUCH_RECORD without such a thing, UNSUITABLE where it has as many as it may have. With
        an id of the caller's a call that failed can be repeated without a second picture.
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
        """Put other words under a picture; CHANGED_ELSEWHERE if somebody was quicker."""
        return self._change(picture_id, "caption", caption, who, based_on)

    def withdraw(self, picture_id: str, day: str, *, who: str) -> Stored[KeptPicture]:
        """Let a picture count no longer from this day on, or count again if the day is empty.

        UNSUITABLE if it would count again where there are as many as there may be, or was erased.
        """
        with self._backend.transaction():
            now = self.records.get(picture_id).thing
            if now.erased:
                raise problems.unsuitable(message("pictures.was_erased", day=Name(now.erased)))
            if now.withdrawn and not day and self.count_of(*now.owner) >= MOST_OF_ONE:
                raise problems.unsuitable(message("pictures.most", count=MOST_OF_ONE))
            return self._change(picture_id, "withdrawn", day, who)

    def erase(self, picture_id: str, day: str, *, who: str, at: datetime) -> bool:
        """Take what a picture shows out of the file for good; what is said of it stays.

        Returns whether there was anything to erase. What another picture shows as well stays there.
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
        """Return the numbers of all pictures that show this, those put away or withdrawn too."""
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
        """Return the pictures of a thing that were not put away, the first that was added first.

        ``withdrawn`` takes those too that count no longer.
        """
        where: Where = {"owner": sort, "thing_id": thing_id, "archived": 0}
        if not withdrawn:
            where = {**where, "withdrawn": ""}
        with self._backend.snapshot():
            found = self._backend.select("pictures", ("id",), where)
            kept = [self.records.get(picture_id) for (picture_id,) in found]
            ids = tuple(one.id for one in kept)
            first: Where = {"thing_id": ids, "revision": 1}
            said = self._backend.select("picture_revisions", ("thing_id", "at"), first)
            added: dict[str, str] = dict(said)
        return tuple(sorted(kept, key=lambda one: (one.thing.day, added.get(one.id, ""), one.id)))

    def count_of(self, sort: str, thing_id: str) -> int:
        """Return how many pictures of a thing count."""
        where: Where = {"owner": sort, "thing_id": thing_id, "archived": 0, "withdrawn": ""}
        return len(self._backend.select("pictures", ("id",), where))

    def same(self, sort: str, thing_id: str, content: str) -> str | None:
        """Return the number of a thing's picture with this content, None if it has none."""
        where: Where = {"owner": sort, "thing_id": thing_id, "content": content, "archived": 0}
        found = self._backend.select("pictures", ("id",), where)
        return str(found[0][0]) if found else None

    def ids_of(self, sort: str, thing_ids: Sequence[str]) -> tuple[str, ...]:
        """Return the numbers of all pictures of things, those that count no longer too."""
        where: Where = {"owner": sort, "thing_id": tuple(thing_ids), "archived": 0}
        return tuple(sorted(one for (one,) in self._backend.select("pictures", ("id",), where)))

    # what they show

    def keep_content(self, content: Content) -> None:
        """Keep what a picture shows, unless it is there."""
        with self._backend.transaction():
            if not self.has_content(content.hash):
                self._backend.insert("picture_contents", _CONTENT, [content.row()])

    def has_content(self, content: str) -> bool:
        """Whether there is something with this digest."""
        return bool(self._backend.select("picture_contents", ("hash",), {"hash": content}))

    def image(self, content: str) -> bytes | None:
        """Return a picture as JPEG; None if it is not there, or is not what it was."""
        found = self._backend.select("picture_contents", ("image",), {"hash": content})
        image = found[0][0] if found else None
        if not isinstance(image, bytes) or hashlib.sha256(image).hexdigest() != content:
            return None
        return image

    def small(self, content: str) -> bytes | None:
        """Return the small one as JPEG; None if it is not there, or can't be one."""
        found = self._backend.select("picture_contents", ("small",), {"hash": content})
        small = found[0][0] if found else None
        try:
            size_of_jpeg(small or b"", LONGEST_SMALL_EDGE, MOST_SMALL_BYTES)
        except (NoPictureError, TypeError, AttributeError):  # a text where bytes belong
            return None
        return small

    def content(self, content: str) -> Content | None:
        """Return all that is kept under a digest; None if it is not there, or is not whole."""
        image, small = self.image(content), self.small(content)
        try:
            return None if image is None or small is None else Content.of(image, small)
        except NoPictureError:
            return None

    def bytes_of(self, picture_ids: Iterable[str]) -> int:
        """Return how many bytes these pictures are, each content once."""
        wanted: Where = {"id": tuple(picture_ids)}
        contents = {one for (one,) in self._backend.select("pictures", ("content",), wanted)}
        sizes = self._backend.select("picture_contents", ("size",), {"hash": tuple(contents)})
        return sum(int(size) for (size,) in sizes)
