"""Where a request came from."""

from __future__ import annotations

from starlette.requests import HTTPConnection

from service.access.networks import is_unnamed_proxy
from service.usecases.context import Context


def address_of(request: HTTPConnection) -> str:
    """The address of whoever is at the other end: the client's, or that of a proxy that was not declared."""
    return request.client.host if request.client else ""


def own_address_of(ctx: Context, request: HTTPConnection) -> str:
    """The client's own address; empty behind a proxy that was not declared: it is everybody's, and so nobody's."""
    address = address_of(request)
    trusts = ctx.installed_as.trusts_a_proxy
    names = (name for name, _ in request.scope["headers"])
    return "" if is_unnamed_proxy(address, names, trusts_a_proxy=trusts) else address
