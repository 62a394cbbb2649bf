"""Messages to webhooks by the Standard Webhooks specification 1.0.0: its published vector, and its own library."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from standardwebhooks.webhooks import Webhook as Library
from standardwebhooks.webhooks import WebhookVerificationError

from service.orders.webhooks import (
    DELAYS,
    Event,
    Webhook,
    body_of,
    headers_of,
    is_public,
    new_secret,
    next_try,
    signature,
    url_problem,
)
from service.work.courier import send

# From the reference tests of the specification's repository (standard-webhooks/libraries).
SECRET = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw"
VECTOR = ("msg_p5jXN8AQM9LWM0D4loKWxJek", 1614265330, '{"test": 2432232314}')
SIGNED = "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE="
NOW = datetime.now(UTC)
HOOK = Webhook("h", "w", "https://shop.example/hooks", (), True, "", SECRET, "", None, 0, NOW)
EVENT = Event(7, "order.submit", "o", NOW, {"number": 3, "state": "submitted", "activity": 9})


def test_the_published_vector_holds():
    assert signature(SECRET, *VECTOR) == SIGNED


def test_the_specifications_library_takes_our_messages():
    hook = replace(HOOK, secret=new_secret())
    body, now = body_of(EVENT), datetime.now(UTC)  # the library refuses what is more than five minutes old
    told = Library(hook.secret).verify(body, headers_of(hook, "msg_1", body, now))
    assert told["type"] == "order.submit"
    assert told["data"] == {"event": 7, "order_id": "o", "number": 3, "state": "submitted", "activity": 9}
    with pytest.raises(WebhookVerificationError):
        Library(SECRET).verify(body, headers_of(hook, "msg_1", body, now))


def test_both_secrets_sign_while_they_overlap():
    now = datetime.now(UTC)
    hook = replace(HOOK, secret=new_secret(), earlier_secret=SECRET, earlier_until=now + timedelta(hours=1))
    body = body_of(EVENT)
    headers = headers_of(hook, "msg_1", body, now)
    for secret in (hook.secret, SECRET):
        Library(secret).verify(body, headers)
    later = headers_of(hook, "msg_1", body, now + timedelta(hours=1))
    assert len(later["webhook-signature"].split()) == 1


def test_tries_go_on_for_three_days():
    """The schedule that the specification proposes: at once, 5 s, 5 min, 30 min, 2, 5, 10, 14, 20 and 24 hours."""
    assert len(DELAYS) == 10
    assert timedelta(days=3) < sum(DELAYS, timedelta()) < timedelta(days=4)
    assert next_try(1, NOW) == NOW + timedelta(seconds=5)
    assert next_try(10, NOW) is None


@pytest.mark.parametrize("kind", ["order.submit", "order", "carving.prove", "orders"])
def test_kinds_are_chosen_whole_or_by_their_beginning(kind):
    hook = replace(HOOK, kinds=("order", "carving.prove"))
    assert hook.wants(kind) is (kind != "orders")
    assert not hook.wants("carving.sign") and not hook.wants("order-like.x")


@pytest.mark.parametrize(
    "url",
    [
        "http://shop.example/",
        "https://",
        "https://a:b@shop.example/",
        "ftp://shop.example/",
        "https://x/#y",
        "/hooks",
    ],
)
def test_addresses_that_are_not_taken(url):
    assert url_problem(url, anywhere=False)
    assert not url_problem("https://shop.example/hooks?a=b", anywhere=False)


# IANA special-purpose address registries (RFC 6890): none of these is on the public internet.
WITHIN = [
    "127.0.0.1", "10.1.2.3", "172.16.0.1", "192.168.1.1", "169.254.169.254", "100.64.0.1", "0.0.0.0",
    "192.0.2.1", "198.18.0.1", "224.0.0.1", "255.255.255.255", "::1", "::", "fe80::1%eth0", "fc00::1",
    "::ffff:127.0.0.1", "::ffff:10.0.0.1", "2002:7f00:1::", "2001:db8::1", "ff02::1",
]  # fmt: skip


@pytest.mark.parametrize("address", WITHIN)
def test_addresses_within_a_network_are_not_connected_to(address):
    assert not is_public(address)
    host = f"[{address}]" if ":" in address else address
    assert "within a network" in url_problem(f"https://{host}/", anywhere=False)
    assert not url_problem(f"https://{host}/", anywhere=True)


def test_a_name_that_means_this_machine_is_not_connected_to():
    assert url_problem("https://localhost:9/", anywhere=False)
    answer = send("https://localhost:9/", "{}", {}, anywhere=False)
    assert answer.status is None and "within a network" in answer.trouble
    assert is_public("1.1.1.1") and is_public("2606:4700::1111")
