"""Who is asking. The access room makes these from a session, a link or a token; nobody else does."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


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
    BATCHES_READ = "batches.read"


@dataclass(frozen=True)
class Maker:
    """A person of the workshop who decides and releases."""

    workshop_id: str
    account_id: str
    name: str
    address: str = ""

    @property
    def role(self) -> Role:
        """Always the maker."""
        return Role.MAKER

    @property
    def identity(self) -> str:
        """Stable name for the record and for idempotency keys; no personal data."""
        return f"maker:{self.account_id}"


@dataclass(frozen=True)
class Helper:
    """A person of the workshop who sees everything and works the bench, but decides nothing."""

    workshop_id: str
    account_id: str
    name: str
    address: str = ""

    @property
    def role(self) -> Role:
        """Always the helper."""
        return Role.HELPER

    @property
    def identity(self) -> str:
        """Stable name for the record and for idempotency keys; no personal data."""
        return f"helper:{self.account_id}"


@dataclass(frozen=True)
class Client:
    """Whoever holds the link of one order; reaches that order and nothing else."""

    workshop_id: str
    order_id: str
    link_id: str
    address: str = ""

    @property
    def role(self) -> Role:
        """Always the client."""
        return Role.CLIENT

    @property
    def identity(self) -> str:
        """Stable name for the record and for idempotency keys; no personal data."""
        return f"client:{self.link_id}"


@dataclass(frozen=True)
class ShopSite:
    """A shop's own site, acting with a token for its clients within the token's scopes."""

    workshop_id: str
    token_id: str
    scopes: frozenset[Scope]
    address: str = ""

    @property
    def role(self) -> Role:
        """Always the shop site."""
        return Role.SHOP_SITE

    @property
    def identity(self) -> str:
        """Stable name for the record and for idempotency keys; no personal data."""
        return f"shop-site:{self.token_id}"


@dataclass(frozen=True)
class Visitor:
    """Somebody at a workshop's public door, without any credential.

    Attributes:
        key: what tells one visitor's idempotency keys from another's (a random cookie value), may be empty.
    """

    workshop_id: str
    address: str = ""
    key: str = ""

    @property
    def role(self) -> Role:
        """Always the visitor."""
        return Role.VISITOR

    @property
    def identity(self) -> str:
        """Stable name for the record and for idempotency keys; no personal data."""
        return f"visitor:{self.key}"


@dataclass(frozen=True)
class System:
    """The service itself: background work and the command line on the workshop's own machine."""

    workshop_id: str
    name: str = "service"
    address: str = ""

    @property
    def role(self) -> Role:
        """Always the system."""
        return Role.SYSTEM

    @property
    def identity(self) -> str:
        """Stable name for the record and for idempotency keys; no personal data."""
        return f"system:{self.name}"


Actor = Maker | Helper | Client | ShopSite | Visitor | System
