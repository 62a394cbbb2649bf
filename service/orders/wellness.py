"""Whether everything is well: signs, each judged against its limits and told in a maker's words."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from enum import StrEnum

from service.orders.shares import Shares, Used, fullest, told
from service.orders.upkeep import Chore, Done

WORKER_SILENT = timedelta(minutes=1)
"""Longest time without a sign of life of a worker; the only one there is says so every 15 s."""
WORK_WAITS = timedelta(minutes=5)
MAIL_WAITS = timedelta(minutes=15)
HOUSEKEEPING_LATE = timedelta(hours=6)
BACKUP_LATE = timedelta(hours=26)
"""A backup is daily; the timer may run late by an hour or two."""
SCRUB_LATE = timedelta(days=40)
ROOM_SHORT = 5_000_000_000
"""Bytes free below which one should think of it; a busy day of uploads is some hundred megabytes."""
ROOM_GONE = 1_000_000_000
"""Bytes free below which a file may not fit any more."""

SHARE_SHORT = 0.8
"""Part of a share from which on one should think of it."""


class Level(StrEnum):
    """How bad it is."""

    WELL = "well"
    WATCH = "watch"
    TROUBLE = "trouble"


class Subject(StrEnum):
    """What a sign is about."""

    WORKER = "worker"
    WORK = "work"
    GIVEN_UP = "given-up"
    MAIL = "mail"
    FILES = "files"
    ROOM = "room"
    SHARE = "share"
    HOUSEKEEPING = "housekeeping"
    BACKUP = "backup"
    SCRUB = "scrub"
    ADDRESS = "address"
    DELIVERY = "delivery"
    RIGHTS = "rights"
    SEEDED = "seeded"
    CLOCK = "clock"
    CAGE = "cage"
    WALL = "wall"
    VERSION = "version"


@dataclass(frozen=True)
class Vitals:
    """What was found, before anybody judged it.

    Attributes:
        now: when.
        worker_seen: the last sign of life of any worker.
        work_waiting: pieces of work asked for and not begun; ``work_since``: since when the oldest waits.
        given_up: pieces of work that were given up.
        mail_waiting: messages to be sent; ``mail_since``: since when the oldest waits.
        mail_lost: messages that were given up.
        files_kept: whether a file can be kept at this moment.
        room: bytes free where files are kept; ``None`` where that is no disk of this machine.
        shares: what the host gives the workshop; ``used``: what it uses, ``None`` where all workshops are meant.
        upkeep: when each chore was last done.
    """

    now: datetime
    worker_seen: datetime | None
    work_waiting: int
    work_since: datetime | None
    given_up: int
    mail_waiting: int
    mail_since: datetime | None
    mail_lost: int
    files_kept: bool
    room: int | None
    upkeep: dict[Chore, Done]
    shares: Shares = field(default_factory=Shares)
    used: Used | None = None


@dataclass(frozen=True)
class Sign:
    """One sign, for people.

    Attributes:
        words: how it is, and what to do where it is not well.
        at: the moment it is about, where there is one.
    """

    subject: Subject
    level: Level
    words: str
    at: datetime | None = None


def signs(vitals: Vitals) -> tuple[Sign, ...]:
    """Judge what was found; always the same subjects in the same order, but for those that do not apply."""
    return tuple(_judged(vitals))


def level_of(found: tuple[Sign, ...]) -> Level:
    """The worst level of all."""
    order = list(Level)
    return max((sign.level for sign in found), key=order.index, default=Level.WELL)


def _judged(vitals: Vitals) -> Iterator[Sign]:
    yield _worker(vitals)
    yield _work(vitals)
    yield _given_up(vitals)
    yield _mail(vitals)
    yield _files(vitals)
    if vitals.room is not None:
        yield _room(vitals.room)
    if vitals.used is not None and vitals.shares != Shares():
        yield _share(vitals.shares, vitals.used)
    yield from _chores(vitals)


def _worker(vitals: Vitals) -> Sign:
    at = vitals.worker_seen
    if at is None or vitals.now - at > WORKER_SILENT:
        words = "Nobody is reading artwork, making proofs or sending mail. Start Slatproof again."
        return Sign(Subject.WORKER, Level.TROUBLE, words, at)
    return Sign(Subject.WORKER, Level.WELL, "Artwork is read, proofs are made and mail is sent.", at)


def _work(vitals: Vitals) -> Sign:
    at = vitals.work_since
    if at is None:
        return Sign(Subject.WORK, Level.WELL, "Nothing is waiting to be worked out.")
    count = _count(vitals.work_waiting, "piece of work waits", "pieces of work wait")
    if vitals.now - at > WORK_WAITS:
        return Sign(Subject.WORK, Level.WATCH, f"{count}, the oldest for {_span(vitals.now - at)}.", at)
    return Sign(Subject.WORK, Level.WELL, f"{count}, none for long.", at)


def _given_up(vitals: Vitals) -> Sign:
    if not vitals.given_up:
        return Sign(Subject.GIVEN_UP, Level.WELL, "No work was given up.")
    count = _count(vitals.given_up, "piece of work was given up", "pieces of work were given up")
    return Sign(Subject.GIVEN_UP, Level.WATCH, f"{count}. See below, and ask for it again.")


def _mail(vitals: Vitals) -> Sign:
    at = vitals.mail_since
    if vitals.mail_lost:
        count = _count(vitals.mail_lost, "message could not be sent", "messages could not be sent")
        return Sign(Subject.MAIL, Level.WATCH, f"{count} in the last month, for all trying.", at)
    if at is None:
        return Sign(Subject.MAIL, Level.WELL, "No mail is waiting.")
    count = _count(vitals.mail_waiting, "message waits", "messages wait")
    if vitals.now - at > MAIL_WAITS:
        words = f"{count}, the oldest for {_span(vitals.now - at)}. Check the settings of your mail server."
        return Sign(Subject.MAIL, Level.WATCH, words, at)
    return Sign(Subject.MAIL, Level.WELL, f"{count}, none for long.", at)


def _files(vitals: Vitals) -> Sign:
    if vitals.files_kept:
        return Sign(Subject.FILES, Level.WELL, "Files can be kept.")
    words = "No file can be kept: uploads are turned away. Check the disk, or the store that files go to."
    return Sign(Subject.FILES, Level.TROUBLE, words)


def _room(room: int) -> Sign:
    free = f"{room / 1e9:.1f} GB of disk are free"
    if room < ROOM_GONE:
        return Sign(Subject.ROOM, Level.TROUBLE, f"Only {free}. Make room now, or uploads will fail.")
    if room < ROOM_SHORT:
        return Sign(Subject.ROOM, Level.WATCH, f"Only {free}. Make room soon.")
    return Sign(Subject.ROOM, Level.WELL, f"{free}.")


def _share(shares: Shares, used: Used) -> Sign:
    full, of_it = (
        fullest(shares, used),
        f"Of what the host gives this workshop, it uses {told(shares, used)}.",
    )
    if full >= 1:
        words = (
            f"{of_it} New files are turned away, and new work is done behind others', until there is room."
        )
        return Sign(Subject.SHARE, Level.TROUBLE, words)
    return Sign(Subject.SHARE, Level.WATCH if full >= SHARE_SHORT else Level.WELL, of_it)


_LATE = {
    Chore.HOUSEKEEPING: (Subject.HOUSEKEEPING, HOUSEKEEPING_LATE, "Tidying up", ""),
    Chore.BACKUP: (Subject.BACKUP, BACKUP_LATE, "The last backup", "Make one: slatproof backup FOLDER."),
    Chore.SCRUB: (Subject.SCRUB, SCRUB_LATE, "The last check of all files", "Run: slatproof scrub."),
}


def _chores(vitals: Vitals) -> Iterator[Sign]:
    for chore, (subject, late, name, remedy) in _LATE.items():
        done = vitals.upkeep.get(chore)
        if done is None:
            level = Level.WATCH if chore is Chore.BACKUP else Level.WELL
            yield Sign(subject, level, f"{name}: never so far. {remedy}".rstrip())
        elif not done.well:
            yield Sign(subject, Level.TROUBLE, f"{name} did not go well: {done.words}", done.at)
        elif vitals.now - done.at > late:
            words = f"{name} was {_span(vitals.now - done.at)} ago. {remedy}".rstrip()
            yield Sign(subject, Level.WATCH, words, done.at)
        else:
            yield Sign(subject, Level.WELL, f"{name} went well.", done.at)


def _count(number: int, one: str, many: str) -> str:
    return f"{number} {one if number == 1 else many}"


def _span(span: timedelta) -> str:
    """A time span in one unit, rounded down."""
    for unit, size in (("day", 86400), ("hour", 3600), ("minute", 60)):
        number = int(span.total_seconds() // size)
        if number:
            return f"{number} {unit}{'s' if number > 1 else ''}"
    return "less than a minute"
