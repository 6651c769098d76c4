"""Copy a whole laboratory from one place to another, and prove that both are the same.

Events are copied byte for byte with their seals, so equal last seals mean equal histories; the
documents are named by their hashes. It works between any two engines, and while others go on
recording: what was read stays true because nothing is ever changed.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from closedcup.errors import Damaged
from closedcup.records.chain import Head
from closedcup.records.store import Store, StoredEvent
from closedcup.records.verify import check

# Told what is under way, how many events of it are done, and of how many
Progress = Callable[[str, int, int], None]
_TELL_EVERY = 1000


@dataclass(frozen=True, slots=True)
class Copied:
    """What was copied and proved equal: how many of each, and the last event's seal."""

    events: int
    head: Head
    documents: int
    people: int


def no_progress(_doing: str, _done: int, _all: int) -> None:
    """Tell nobody."""


def copy_records(
    source: Store, target: Store, *, live: bool = False, progress: Progress = no_progress
) -> Copied:
    """Copy everything into empty records, all or nothing; return what the target holds now.

    live: others go on recording, and what they record meanwhile is left out. Otherwise anything
    recorded meanwhile is a Conflict. Raises Damaged where the source or the copy is not whole.
    """
    until = source.head()
    # after the head: a document is kept before the event that issues it
    documents = source.attachments()
    names = source.names()
    target.adopt(
        _rows(source, until, progress),
        (source.attachment(sha256) for sha256 in documents),
        names,
        ends_at=(lambda: until) if live else source.head,
    )
    found = check(target, progress=lambda done: progress("checking", done, until.seq))
    equal = (found.head, target.attachments(), target.names()) == (until, documents, names)
    if not (found.intact and equal):
        raise Damaged(
            "copy-unequal",
            "The copy is not what was copied.",
            where=target.place,
            fix="Throw the copy away and do it again; look after the disk first.",
        )
    if not live:  # backups lie about: they hold no passwords
        target.access.take_over(source.access.credentials())
    progress("checking", until.seq, until.seq)
    return Copied(found.events, found.head, len(documents), len(names))


def _rows(source: Store, until: Head, progress: Progress) -> Iterator[StoredEvent]:
    for row in source.stored():
        if row.seq > until.seq:
            return
        yield row
        if row.seq % _TELL_EVERY == 0:
            progress("copying", row.seq, until.seq)
