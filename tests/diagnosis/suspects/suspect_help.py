"""From a recording to its suspects."""

from __future__ import annotations

from collections.abc import Iterable

from desktop.diagnosis.suspects import Snapshot, Suspect, SuspectBook, find_suspects
from desktop.flow.learned import Learned, learn
from desktop.flow.worker import Worker
from desktop.site import Site
from recordings.recording import Recording


def gathered(recording: Recording, site: Site, cuts: Iterable[int] = ()) -> tuple[Snapshot, Learned]:
    """What a book holds of a recording whose rows come in these pieces."""
    learned = learn(recording, site)
    worker, book = Worker(learned, site), SuspectBook(learned, site)
    ends = sorted({cut for cut in cuts if 0 < cut < len(recording)} | {len(recording)})
    start = 0
    for end in ends:
        book.extend(worker.work(recording, start, end))
        start = end
    return book.snapshot(), learned


def suspects(recording: Recording, site: Site) -> tuple[Suspect, ...]:
    """Who is suspected."""
    snapshot, learned = gathered(recording, site)
    return find_suspects(snapshot, learned, site)


def named(found: tuple[Suspect, ...]) -> list[tuple[str, str]]:
    """Channel and fault of each suspect."""
    return [(each.channel, each.fault) for each in found]
