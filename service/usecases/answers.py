"""What use cases give back, beside the values of ``service.orders``: ready to be turned into JSON."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Any, Generic, TypeVar, overload

from artwork.cut import Placement
from artwork.findings.values import Verdict
from service.orders.artworks import Artwork, StoredReading
from service.orders.definition import OneOf
from service.orders.order import Carving, Line, Order
from service.orders.proofs import Proof
from service.orders.versions import NoVersion, Version, VersionsState
from service.orders.work import Job

T = TypeVar("T")


@dataclass(frozen=True)
class OrderAggregate:
    """An order with everything a page about it shows; ``proofs`` holds each carving's current one."""

    order: Order
    lines: tuple[Line, ...]
    carvings: tuple[Carving, ...]
    artworks: tuple[Artwork, ...]
    readings: tuple[StoredReading, ...]
    proofs: tuple[Proof, ...]


@dataclass(frozen=True)
class PlacedOrder:
    """A new order and the secret of its client's link: the only moment it is known."""

    whole: OrderAggregate
    link_token: str


class Cursors(Sequence[str]):
    """Cursors of some items, each written when somebody asks for it: most pages ask for the last alone."""

    def __init__(self, items: Sequence[Any], of: Callable[[Any], str]) -> None:
        self._items = items
        self._of = of

    @overload
    def __getitem__(self, index: int) -> str: ...

    @overload
    def __getitem__(self, index: slice) -> Cursors: ...

    def __getitem__(self, index: int | slice) -> str | Cursors:
        if isinstance(index, slice):
            return Cursors(self._items[index], self._of)
        return self._of(self._items[index])

    def __len__(self) -> int:
        return len(self._items)


@dataclass(frozen=True)
class Page(Generic[T]):
    """One page of a list.

    Attributes:
        cursors: one per item; give one back as ``after`` to go on from there.
        more: whether there is anything after the last item.
        total: how many the list holds, at most 10,000; ``None`` where nobody asked.
    """

    items: tuple[T, ...]
    cursors: Sequence[str]
    more: bool
    total: int | None = None


@dataclass(frozen=True)
class Judged:
    """The answer to a trial: nothing of it is kept.

    Attributes:
        digest: of the cut: equal cuts have equal digests.
        placement: where the art was laid.
        verdict: whether it carves.
        sentence: the verdict in words.
        check: ``artwork.jsonable.check`` values.
        picture: preview PNG where it was asked for.
    """

    digest: str
    placement: Placement
    verdict: Annotated[str, OneOf(Verdict)]
    sentence: str
    check: Mapping[str, Any]
    picture: bytes | None


@dataclass(frozen=True)
class Cure:
    """One remedy on offer.

    Attributes:
        code: it is taken by this.
        sentence: what it does, for people.
        placement: where the art would lie.
        slat_key, bit_key: that would be used.
        change: what would change (``artwork.remedies.values.Change`` as plain JSON values).
    """

    code: str
    sentence: str
    placement: Placement
    slat_key: str
    bit_key: str
    change: Mapping[str, Any]


@dataclass(frozen=True)
class VersionsOffered:
    """What is proposed for a carving whose proof found something.

    Attributes:
        carving_id: whose.
        state: how far it is; ``ready`` has versions, or the reason why there are none, ``working`` has often a
            first one.
        stage, fraction: of the work, while it goes on; fraction from 0 to 1.
        key: names what was asked; addresses of pictures may be kept by it.
        versions: at most three, the least visible change first.
        others: remedies that are not among them, best first.
        reason: why there is no version, and what would do.
        sturdier: of some versions another one with more to spare for uneven boards, chosen by its own code.
    """

    carving_id: str
    state: VersionsState
    stage: str = ""
    fraction: float = 0.0
    key: str = ""
    versions: tuple[Version, ...] = ()
    others: tuple[Cure, ...] = ()
    reason: NoVersion | None = None
    sturdier: tuple[Version, ...] = ()


@dataclass(frozen=True)
class Swept:
    """What housekeeping removed.

    Attributes:
        orders: ids of orders whose unused art was erased.
        blobs: digests of files that no row named.
    """

    orders: tuple[str, ...]
    blobs: tuple[str, ...]


@dataclass(frozen=True)
class BlobFile:
    """A file that the person asking may have.

    Attributes:
        digest: SHA-256, names the bytes in the blob store.
        name: to save it under.
        original: a stranger's bytes: served only as attachment, with nosniff and a sandboxing policy.
    """

    digest: str
    content_type: str
    name: str
    original: bool


@dataclass(frozen=True)
class GivenUp:
    """Work that was given up, and the number of the order it is for; a batch has none."""

    job: Job
    order_number: int | None
