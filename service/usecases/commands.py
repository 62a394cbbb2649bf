"""What people send: plain values, checked by the use case that takes them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime

from artwork.cut import Placement
from service.orders.content import LineContent, OrderContent, WorkshopContent

__all__ = [
    "ACCEPTING_NOTHING",
    "EVERY_ORDER",
    "FIRST_PAGE",
    "Accepting",
    "CutChange",
    "IdempotencyKey",
    "LineContent",
    "OrderContent",
    "OrderFilter",
    "PageAsk",
    "Replay",
    "Trial",
    "Upload",
    "WorkshopContent",
]


@dataclass
class Replay:
    """Whether the answer that somebody gets is one that was given before."""

    happened: bool = False


@dataclass(frozen=True)
class IdempotencyKey:
    """An idempotency key: the same call again gives the first answer and does nothing.

    Attributes:
        key: chosen by the caller, at most 255 characters; good for one call of each operation.
        body: SHA-256 of what was asked, by its meaning; another one under the same key is refused.
        replay: says afterwards whether this was a call again.
    """

    key: str
    body: str
    replay: Replay = field(default_factory=Replay, compare=False)


@dataclass(frozen=True)
class Upload:
    """A file as sent, and the carvings it is for."""

    data: bytes
    name: str
    content_type: str = "application/octet-stream"
    carving_ids: tuple[str, ...] = ()


@dataclass(frozen=True)
class CutChange:
    """What the maker changes of a cut; ``None`` leaves it. Only makers may set anything but ``slat_key``.

    Attributes:
        slat_key: another slat of the same model that carries no art yet.
        bit_key: one of the workshop's bits; empty takes the usual one again.
        thickness: of the board used, mm; 0 takes the model's again.
        allowances: the whole set of field → value for this carving; empty takes the workshop's again.
    """

    slat_key: str | None = None
    bit_key: str | None = None
    thickness: float | None = None
    allowances: Mapping[str, float | bool] | None = None


@dataclass(frozen=True)
class Trial:
    """A cut to be judged without keeping anything: the carving as it is, changed by what is given.

    Attributes:
        largest: lay it as large as fits, turned and mirrored as it would be without this.
    """

    placement: Placement | None = None
    change: CutChange = field(default_factory=CutChange)
    largest: bool = False


@dataclass(frozen=True)
class OrderFilter:
    """Which orders; everything given must hold.

    Attributes:
        states, carving_states, verdicts: any of them; an order matches by one of its carvings.
        words: found in number, contact, note or artwork names, each word as a prefix.
        number, site_order_number: of the order, exactly; the workshop's and the site's own.
        email: of the contact, exactly, in any case.
        updated_since: changed at this moment or later.
        kinds: none: orders; those with a test's token see tests alone.
        order_by: ``"newest"`` or ``"needed-by"`` (earliest first, those without a date last).
    """

    states: tuple[str, ...] = ()
    carving_states: tuple[str, ...] = ()
    verdicts: tuple[str, ...] = ()
    needed_from: date | None = None
    needed_until: date | None = None
    words: str = ""
    order_by: str = "newest"
    number: int | None = None
    site_order_number: str = ""
    email: str = ""
    updated_since: datetime | None = None
    kinds: tuple[str, ...] = ()


@dataclass(frozen=True)
class PageAsk:
    """Which page of a list.

    Attributes:
        first: how many, 1 to 100.
        after: the cursor of the last one had, ``None`` for the first page.
        count: whether all that the list holds are to be counted.
    """

    first: int = 50
    after: str | None = None
    count: bool = False


FIRST_PAGE = PageAsk()
EVERY_ORDER = OrderFilter()


@dataclass(frozen=True)
class Accepting:
    """Remarks that a client accepts with a signature.

    Attributes:
        remarks: carving → names of remarks of its proof.
        kinds: suite → kinds of remarks, on whichever of its parts they are.
    """

    remarks: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    kinds: Mapping[str, tuple[str, ...]] = field(default_factory=dict)


ACCEPTING_NOTHING = Accepting()
