"""Each sign changes where its limit is, and says what to do where something is to be done."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from service.orders.shares import Shares, Used
from service.orders.upkeep import Chore, Done
from service.orders.wellness import Level, Subject, Vitals, level_of, signs

NOW = datetime(2026, 5, 4, 9, 30, tzinfo=UTC)
FINE = Vitals(
    now=NOW, worker_seen=NOW, work_waiting=0, work_since=None, given_up=0, mail_waiting=0, mail_since=None,
    mail_lost=0, files_kept=True, room=80_000_000_000,
    upkeep={chore: Done(chore, NOW, well=True) for chore in Chore},
)  # fmt: skip


def ago(**span: float) -> datetime:
    return NOW - timedelta(**span)


def done(chore: Chore, at: datetime, *, well: bool = True, words: str = "") -> dict:
    return {"upkeep": FINE.upkeep | {chore: Done(chore, at, well, words)}}


def share(files: int) -> dict:
    return {"shares": Shares(files=10), "used": Used(files, size=0, work=0)}


def test_all_is_well():
    assert level_of(signs(FINE)) is Level.WELL
    of_the_workshop = list(Subject)[: list(Subject).index(Subject.ADDRESS)]  # the rest is the installation's
    limited = replace(FINE, shares=Shares(files=10), used=Used(files=1, size=0, work=0))
    assert [sign.subject for sign in signs(limited)] == of_the_workshop
    assert [sign.subject for sign in signs(FINE)] == [s for s in of_the_workshop if s is not Subject.SHARE]


@pytest.mark.parametrize(
    ("subject", "changes", "level", "words"),
    [
        ("worker", {"worker_seen": ago(seconds=60)}, "well", "Artwork is read"),
        ("worker", {"worker_seen": ago(seconds=61)}, "trouble", "Start Slatproof again"),
        ("worker", {"worker_seen": None}, "trouble", "Nobody is reading artwork"),
        ("work", {"work_waiting": 1, "work_since": ago(minutes=5)}, "well", "1 piece of work waits"),
        ("work", {"work_waiting": 3, "work_since": ago(minutes=6)}, "watch", "3 pieces of work wait, the oldest for 6"),
        ("given-up", {"given_up": 2}, "watch", "2 pieces of work were given up"),
        ("mail", {"mail_waiting": 1, "mail_since": ago(minutes=15)}, "well", "1 message waits"),
        ("mail", {"mail_waiting": 2, "mail_since": ago(hours=3)}, "watch", "for 3 hours. Check the settings"),
        ("mail", {"mail_lost": 1}, "watch", "1 message could not be sent"),
        ("files", {"files_kept": False}, "trouble", "uploads are turned away"),
        ("room", {"room": 5_000_000_000}, "well", "5.0 GB of disk are free"),
        ("room", {"room": 4_999_000_000}, "watch", "Make room soon"),
        ("room", {"room": 999_000_000}, "trouble", "Make room now"),
        ("share", share(7), "well", "7 of 10 files"),
        ("share", share(8), "watch", "8 of 10 files"),
        ("share", share(10), "trouble", "New files are turned away"),
        ("housekeeping", done(Chore.HOUSEKEEPING, ago(hours=7)), "watch", "7 hours ago"),
        ("housekeeping", done(Chore.HOUSEKEEPING, NOW, well=False, words="no disk"), "trouble", "no disk"),
        ("backup", done(Chore.BACKUP, ago(hours=26)), "well", "went well"),
        ("backup", done(Chore.BACKUP, ago(hours=27)), "watch", "1 day ago. Make one"),
        ("scrub", done(Chore.SCRUB, ago(days=41)), "watch", "41 days ago"),
        ("backup", {"upkeep": {}}, "watch", "never so far. Make one"),
        ("scrub", {"upkeep": {}}, "well", "never so far"),
    ],
)  # fmt: skip
def test_a_sign_turns_at_its_limit(subject, changes, level, words):
    found = signs(replace(FINE, **changes))
    sign = next(sign for sign in found if sign.subject == subject)
    assert (sign.level, words in sign.words) == (level, True), sign.words
    others = [one.level for one in found if one.subject != subject and changes.get("upkeep") != {}]
    assert set(others) <= {Level.WELL}


def test_files_that_are_elsewhere_have_no_disk_of_ours():
    assert Subject.ROOM not in {sign.subject for sign in signs(replace(FINE, room=None))}
