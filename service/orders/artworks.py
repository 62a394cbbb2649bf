"""Artwork as it came, and each reading of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum
from typing import Annotated, Any

from artwork.intake import Wishes
from artwork.intake.values import Ink
from artwork.intake.values import Kind as ReadingKind
from artwork.remark import FileWarning
from service.orders.definition import OneOf
from service.orders.order import Trouble


@dataclass(frozen=True)
class Artwork:
    """One file of an order, kept byte for byte.

    Attributes:
        sha256: names the blob that holds the original bytes.
        name: the sender's file name, shown but never used as a path.
        size: bytes.
    """

    id: str
    order_id: str
    sha256: str
    name: str
    content_type: str
    size: int
    uploaded_at: datetime


class ReadingState(StrEnum):
    """How far one reading is."""

    WAITING = "waiting"
    READ = "read"
    REFUSED = "refused"


@dataclass(frozen=True)
class ReadingChoice:
    """One of several ways in which a file may be read.

    Attributes:
        wishes: with these the file is read so.
        words: what it is, for whoever does not see the picture.
        picture: small PNG, black on white, base64.
        taken: whether the file was read so.
    """

    wishes: Wishes
    words: str
    picture: str
    taken: bool


@dataclass(frozen=True)
class ReadingReport:
    """What :attr:`StoredReading.report` holds, as plain JSON values.

    Attributes:
        remarks: what its sender should know.
        inks: its colours, most of the picture first; which are carved can be wished for.
        counts: what was found and done in cleaning (``"specks-dropped"``, ``"nodes"``): name → how often.
        pages: how many pages the file has.
        sentence: what was read and what will be carved, in one line.
        choices: the readings to choose from, the one taken among them; none where there is no doubt.
    """

    remarks: tuple[FileWarning, ...] = ()
    inks: tuple[Ink, ...] = ()
    counts: Mapping[str, int] = field(default_factory=dict)
    pages: int = 1
    sentence: str = ""
    choices: tuple[ReadingChoice, ...] = ()


@dataclass(frozen=True)
class StoredReading:
    """What the engine made of one artwork under one set of wishes.

    Attributes:
        outline, picture: SHA-256 of the packed outline and of the PNG of what was read; ``None`` until read.
        state: how far it is.
        wishes: how it was asked to be read.
        kind: where its outline came from.
        format: what the file is, whatever its name says (``"png"``, ``"svg"``).
        report: what was found and done in reading (:class:`ReadingReport` as plain JSON values).
        trouble: why it was refused.
    """

    id: str
    artwork_id: str
    order_id: str
    wishes: Wishes
    state: ReadingState
    outline: str | None = None
    picture: str | None = None
    kind: Annotated[str, OneOf(ReadingKind)] | None = None
    format: str | None = None
    report: Mapping[str, Any] | None = None
    trouble: Trouble | None = None
