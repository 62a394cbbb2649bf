"""The record of decisions: append-only, each entry chained to the one before."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any


class EntryKind(StrEnum):
    """What was decided."""

    SUBMISSION = "submission"
    OFFER = "offer"
    WAIVER = "waiver"
    SIGN_OFF = "sign-off"
    CHANGE_REQUEST = "change-request"
    FEASIBILITY = "feasibility"
    REJECTION = "rejection"
    SPLIT = "split"
    RELEASE = "release"
    RECALL = "recall"
    PRODUCTION = "production"
    TICK = "tick"
    REMAKE = "remake"
    SHIFT = "shift"
    CANCELLATION = "cancellation"
    SETTING = "setting"
    ACCESS = "access"
    ERASURE = "erasure"
    PROGRAM_CHECK = "program-check"
    MARK_APPROVAL = "mark-approval"
    MARK_END = "mark-end"
    VERSION = "version"


@dataclass(frozen=True)
class Particulars:
    """The personal part of an entry, kept beside the chain so that it can be erased.

    Attributes:
        salt: random, hex; without it the entry's seal cannot be guessed back to a person.
        name: of the person, as known then.
        address: network address the decision came from.
        words: what they wrote (reason, note).
    """

    salt: str
    name: str
    address: str
    words: str


@dataclass(frozen=True)
class Entry:
    """One entry of a workshop's record.

    Attributes:
        number: from 1, without gaps, per workshop.
        actor: identity without personal data (``"maker:…"``, ``"client:…"``).
        order_id, carving_id, proof_id: what it is about, where it is about one.
        digest, picture: of the proof decided on and of the picture shown.
        facts: the rest, plain JSON values (waived remarks, pinned place, setting changed).
        seal: SHA-256 over the canonical JSON of ``particulars``.
        previous: ``this`` of the entry before, 64 zeros for the first.
        this: SHA-256 over the RFC 8785 canonical JSON of all the fields above.
        particulars: ``None`` once erased.
    """

    workshop_id: str
    number: int
    kind: EntryKind
    at: datetime
    actor: str
    order_id: str | None
    carving_id: str | None
    proof_id: str | None
    digest: str | None
    picture: str | None
    facts: Mapping[str, Any]
    seal: str
    previous: str
    this: str
    particulars: Particulars | None


@dataclass(frozen=True)
class Fault:
    """The first entry at which a record does not hold (0: none of its entries, an order is gone), and why."""

    number: int
    reason: str


@dataclass(frozen=True)
class Witness:
    """A row outside the record that names the last entry about it.

    Attributes:
        number: of the order, 0 for the workshop itself, whose entries are about no order.
        entry: number of the last entry about it, 0 for none.
    """

    order_id: str | None
    number: int
    entry: int


@dataclass(frozen=True)
class Checkpoint:
    """How far a record went at some moment, to be kept elsewhere: no later record may say otherwise.

    Attributes:
        workshop: the workshop's public key name.
        number, this: of the last entry then.
    """

    workshop: str
    number: int
    this: str
