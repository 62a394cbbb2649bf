"""Whose an address is, for limits: one host by IPv4, one subscriber's network of 64 bits by IPv6."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from ipaddress import IPv6Address, ip_address, ip_network

_FORWARDED: frozenset[str | bytes] = frozenset(
    {"x-forwarded-for", "forwarded", "x-real-ip", b"x-forwarded-for", b"forwarded", b"x-real-ip"}
)
_PRIVATE = tuple(
    ip_network(each)
    for each in ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "fc00::/7", "fe80::/10")
)
"""RFC 1918, RFC 3927, RFC 4193, RFC 4291."""
V6_PREFIX = 64
"""Of an IPv6 address, what its holder has been given: the rest they choose as they like (RFC 4291 §2.5.4)."""


@lru_cache(maxsize=4096)
def network_of(address: str) -> str:
    """The network that an address counts for; what is no address stands for itself.

    ``192.0.2.7`` → ``192.0.2.7``; ``2001:db8::1`` → ``2001:db8::/64``; ``::ffff:192.0.2.7`` → ``192.0.2.7``.
    """
    try:
        parsed = ip_address(address.partition("%")[0])
    except ValueError:
        return address
    if not isinstance(parsed, IPv6Address):
        return str(parsed)
    if parsed.ipv4_mapped is not None:
        return str(parsed.ipv4_mapped)
    return str(ip_network((parsed, V6_PREFIX), strict=False))


@lru_cache(maxsize=4096)
def is_near(address: str) -> bool:
    """Whether an address is of this machine or of a private network, as a proxy's in front of a service is."""
    try:
        parsed = ip_address(address.partition("%")[0])
    except ValueError:
        return False
    if isinstance(parsed, IPv6Address) and parsed.ipv4_mapped is not None:
        parsed = parsed.ipv4_mapped
    return parsed.is_loopback or any(parsed in each for each in _PRIVATE if each.version == parsed.version)


def is_unnamed_proxy(address: str, header_names: Iterable[str | bytes], *, trusts_a_proxy: bool) -> bool:
    """Whether a request came through a proxy that was not declared: everybody behind it has its address.

    Args:
        address: of the peer.
        header_names: of the request, in lower case; as text, or as ASGI has them.
        trusts_a_proxy: whether one was declared; the address is then the client's own.
    """
    return not trusts_a_proxy and is_near(address) and not _FORWARDED.isdisjoint(header_names)
