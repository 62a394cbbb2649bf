"""What people are told by mail, before it is put into words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any


class LetterKind(StrEnum):
    """Which letter: those of :data:`TO_MAKERS` go to the makers, the others to the client."""

    LINK = "link"
    PROOF_READY = "proof-ready"
    REJECTED = "rejected"
    RELEASED = "released"
    RECALLED = "recalled"
    CANCELLED = "cancelled"
    SUBMITTED = "submitted"
    SIGNED = "signed"
    CHANGE_ASKED = "change-asked"
    QUESTION = "question"
    ANSWER = "answer"
    SIGNATURE_FELL = "signature-fell"
    SIGN_AGAIN = "sign-again"


TO_MAKERS = frozenset(
    {LetterKind.CHANGE_ASKED, LetterKind.SUBMITTED, LetterKind.QUESTION, LetterKind.SIGNATURE_FELL}
)
"""What the workshop is told; everything else the client is."""


@dataclass(frozen=True)
class Letter:
    """One letter to be sent once.

    Attributes:
        key: the event's name; a second letter under the same key is dropped.
        facts: plain JSON values for the text (``number``, ``workshop``, ``reason``, ``link``); the
            addressee is looked up from the order or its workshop when it is sent.
    """

    key: str
    workshop_id: str
    order_id: str
    kind: LetterKind
    facts: Mapping[str, Any] = field(default_factory=dict)
