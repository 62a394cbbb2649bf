"""How far an actor sees; everything else that may be done is in the table of states."""

from __future__ import annotations

from service.orders.actors import Actor, Client, Helper, Maker, Role, Scope, ShopSite, System
from service.orders.errors import NotAllowedError, NotFoundError
from service.store.tenant_scope import TenantScope

STAFF = frozenset({Role.MAKER, Role.HELPER, Role.SYSTEM})
_SCOPES = {
    **dict.fromkeys(("sign-off", "waive", "ask-change"), Scope.ORDERS_SIGN),
    "pay": Scope.ORDERS_PAYMENTS,
    "release": Scope.ORDERS_RELEASE,
}
"""Step → scope, where it is not that of writing."""


def reach_of(actor: Actor, scope: Scope = Scope.ORDERS_READ) -> TenantScope:
    """What the actor may see of orders.

    Raises:
        NotFoundError: a visitor sees no order.
        NotAllowedError: the token lacks the scope.
    """
    if isinstance(actor, Client):
        return TenantScope(actor.workshop_id, actor.order_id)
    if isinstance(actor, Maker | Helper | System):
        return TenantScope(actor.workshop_id)
    if isinstance(actor, ShopSite):
        need_scope(actor, scope)
        return TenantScope(actor.workshop_id, tests=actor.test)
    raise NotFoundError("order")


def scope_for(event: str) -> Scope:
    """The scope a token needs to take a step of the table of states."""
    return _SCOPES.get(event, Scope.ORDERS_WRITE)


def need_scope(actor: Actor, scope: Scope) -> None:
    """Raises NotAllowedError for a token without the scope; people need none."""
    if isinstance(actor, ShopSite) and scope not in actor.scopes:
        raise NotAllowedError(f"This token lacks the scope {scope.value}.")


def need_role(actor: Actor, doing: str, *roles: Role) -> None:
    """Raises NotAllowedError for anybody else than these (and the service itself)."""
    if actor.role not in roles and actor.role is not Role.SYSTEM:
        people = " or ".join(sorted(role.value for role in roles))
        raise NotAllowedError(f"Only {people} may {doing}.")
