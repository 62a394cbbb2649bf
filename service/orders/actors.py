"""Who is asking. The access room makes these from a session, a link or a token; nobody else does."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import ClassVar


class Role(StrEnum):
    """What the rules distinguish people by."""

    MAKER = "maker"
    HELPER = "helper"
    CLIENT = "client"
    SHOP_SITE = "shop-site"
    VISITOR = "visitor"
    SYSTEM = "system"


class Scope(StrEnum):
    """What an API token may do."""

    ORDERS_READ = "orders.read"
    ORDERS_WRITE = "orders.write"
    ORDERS_SIGN = "orders.sign"
    ORDERS_EXPORT = "orders.export"
    ORDERS_PAYMENTS = "orders.payments"
    ORDERS_RELEASE = "orders.release"
    BATCHES_READ = "batches.read"
    BATCHES_WRITE = "batches.write"


class _Known:
    """Whoever has a role and a name of their own within it."""

    role: ClassVar[Role]
    _known_by: ClassVar[str]

    @property
    def identity(self) -> str:
        """Stable name for the record and for idempotency keys; no personal data."""
        return f"{self.role}:{getattr(self, self._known_by)}"


@dataclass(frozen=True)
class Maker(_Known):
    """A person of the workshop who decides and releases."""

    role: ClassVar[Role] = Role.MAKER
    _known_by: ClassVar[str] = "account_id"

    workshop_id: str
    account_id: str
    name: str
    address: str = ""


@dataclass(frozen=True)
class Helper(_Known):
    """A person of the workshop who sees everything and works the bench, but decides nothing."""

    role: ClassVar[Role] = Role.HELPER
    _known_by: ClassVar[str] = "account_id"

    workshop_id: str
    account_id: str
    name: str
    address: str = ""


@dataclass(frozen=True)
class Client(_Known):
    """Whoever holds the link of one order; reaches that order and nothing else."""

    role: ClassVar[Role] = Role.CLIENT
    _known_by: ClassVar[str] = "link_id"

    workshop_id: str
    order_id: str
    link_id: str
    address: str = ""


@dataclass(frozen=True)
class ShopSite(_Known):
    """A shop's own site, acting with a token for its clients within the token's scopes.

    Attributes:
        test: it reaches tests alone.
    """

    role: ClassVar[Role] = Role.SHOP_SITE
    _known_by: ClassVar[str] = "token_id"

    workshop_id: str
    token_id: str
    scopes: frozenset[Scope]
    address: str = ""
    test: bool = False


@dataclass(frozen=True)
class Visitor(_Known):
    """Somebody at a workshop's public door, without any credential.

    Attributes:
        key: what tells one visitor's idempotency keys from another's (a random cookie value), may be empty.
    """

    role: ClassVar[Role] = Role.VISITOR
    _known_by: ClassVar[str] = "key"

    workshop_id: str
    address: str = ""
    key: str = ""


@dataclass(frozen=True)
class System(_Known):
    """The service itself: background work and the command line on the workshop's own machine."""

    role: ClassVar[Role] = Role.SYSTEM
    _known_by: ClassVar[str] = "name"

    workshop_id: str
    name: str = "service"
    address: str = ""


Actor = Maker | Helper | Client | ShopSite | Visitor | System
