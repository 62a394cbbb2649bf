"""Whose an address is: values of RFC 1918, RFC 4193, RFC 4291 and RFC 5737's and RFC 3849's addresses for examples."""

from __future__ import annotations

import pytest

from service.access.networks import is_near, is_unnamed_proxy, network_of


@pytest.mark.parametrize(
    ("address", "network"),
    [
        ("192.0.2.7", "192.0.2.7"),
        ("2001:db8:1:2:3:4:5:6", "2001:db8:1:2::/64"),
        ("2001:db8:1:2::1", "2001:db8:1:2::/64"),
        ("2001:db8:1:3::1", "2001:db8:1:3::/64"),
        ("::ffff:192.0.2.7", "192.0.2.7"),
        ("fe80::1%eth0", "fe80::/64"),
        ("::1", "::/64"),
        ("testclient", "testclient"),
        ("", ""),
    ],
)
def test_networks(address, network):
    assert network_of(address) == network


@pytest.mark.parametrize(
    ("address", "near"),
    [
        ("127.0.0.1", True), ("::1", True), ("10.1.2.3", True), ("172.16.0.1", True), ("172.32.0.1", False),
        ("192.168.1.1", True), ("fd00::1", True), ("::ffff:10.0.0.1", True),
        ("192.0.2.7", False), ("2001:db8::1", False), ("somebody", False),
    ],
)  # fmt: skip
def test_near(address, near):
    assert is_near(address) is near


def test_a_proxy_that_was_not_declared():
    headers = ("host", "x-forwarded-for")
    assert is_unnamed_proxy("127.0.0.1", headers, trusts_a_proxy=False)
    assert not is_unnamed_proxy("127.0.0.1", headers, trusts_a_proxy=True)
    assert not is_unnamed_proxy("127.0.0.1", ("host",), trusts_a_proxy=False)
    assert not is_unnamed_proxy("192.0.2.7", headers, trusts_a_proxy=False)  # anybody can write a header
