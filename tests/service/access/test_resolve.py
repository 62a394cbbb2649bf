from datetime import timedelta

import pytest

from service.access import accounts, links, sessions, tokens
from service.access.resolve import Credentials, Means, credentials_of, note_use, resolve
from service.access.sessions import Visitor
from service.orders.actors import Client, Helper, Maker, Role, Scope, ShopSite
from service.orders.actors import Visitor as VisitorActor

from .conftest import NOW

HERE = Visitor("192.0.2.7")


@pytest.fixture
def cast(connection):
    def account(workshop, name, role):
        row = accounts.add_account(
            connection, workshop, f"{name}@{workshop}.example", name=name, role=role, now=NOW
        )
        return sessions.open_account_session(connection, row, HERE, NOW)

    return {
        "maker": account("w1", "ada", Role.MAKER),
        "helper": account("w1", "ben", Role.HELPER),
        "other maker": account("w2", "cora", Role.MAKER),
        "link": links.make_link(connection, "o1", "w1", NOW),
        "other link": links.make_link(connection, "o2", "w1", NOW),
        "token": tokens.make_token(
            connection,
            "w1",
            "garden site",
            [Scope.ORDERS_READ, Scope.ORDERS_WRITE],
            created_by=_anyone(connection),
            now=NOW,
        ),
    }


def _anyone(connection):
    return accounts.list_accounts(connection, "w1")[0].id


def test_accounts_become_what_their_role_says(connection, cast):
    maker = resolve(connection, Credentials(session=cast["maker"], address="192.0.2.7"), NOW)
    assert isinstance(maker.actor, Maker)
    assert (maker.actor.workshop_id, maker.actor.name, maker.actor.address) == ("w1", "ada", "192.0.2.7")
    assert maker.means is Means.COOKIE
    helper = resolve(connection, Credentials(session=cast["helper"]), NOW)
    assert isinstance(helper.actor, Helper)
    other = resolve(connection, Credentials(session=cast["other maker"]), NOW)
    assert other.actor and other.actor.workshop_id == "w2"


def test_a_link_is_a_client_of_one_order(connection, cast):
    found = resolve(connection, Credentials(bearer=cast["link"].token), NOW)
    assert found.actor == Client("w1", "o1", cast["link"].id)
    assert found.means is Means.HEADER


def test_a_token_is_a_shop_site_within_its_scopes(connection, cast):
    found = resolve(connection, Credentials(bearer=cast["token"].secret), NOW)
    assert found.actor == ShopSite("w1", cast["token"].id, frozenset({Scope.ORDERS_READ, Scope.ORDERS_WRITE}))
    note_use(connection, found, NOW)
    assert tokens.list_tokens(connection, "w1")[0].last_used_at == NOW
    assert resolve(connection, Credentials(bearer=cast["token"].secret), NOW).unwritten == ()


@pytest.mark.parametrize("bearer", ["", "splink_x", "sptoken_x", "spsession_x", "é\udcff", "x" * 10_000])
def test_a_wrong_bearer_is_nobody_even_beside_a_good_cookie(connection, cast, bearer):
    found = resolve(connection, Credentials(bearer=bearer, session=cast["maker"]), NOW, "w1")
    assert found.actor is None


def test_secrets_of_one_kind_are_no_use_as_another(connection, cast):
    assert resolve(connection, Credentials(bearer=cast["maker"]), NOW, "w1").actor is None
    found = resolve(connection, Credentials(session=cast["link"].token), NOW, "w1")
    assert isinstance(found.actor, VisitorActor)
    found = resolve(connection, Credentials(client_session=cast["maker"]), NOW, "w1")
    assert isinstance(found.actor, VisitorActor)


def test_ended_credentials_are_nobody(connection, cast):
    tokens.revoke_token(connection, "w1", cast["token"].id, NOW)
    assert resolve(connection, Credentials(bearer=cast["token"].secret), NOW, "w1").actor is None
    links.revoke_links(connection, "o1", NOW)
    assert resolve(connection, Credentials(bearer=cast["link"].token), NOW, "w1").actor is None
    late = NOW + links.LIFE + timedelta(seconds=1)
    assert resolve(connection, Credentials(bearer=cast["other link"].token), late, "w1").actor is None
    lapsed = links.find_lapsed_link(connection, cast["other link"].token)
    assert lapsed and lapsed.order_id == "o2"
    assert links.find_lapsed_link(connection, cast["link"].token) is None


def test_another_workshops_maker_cannot_revoke_a_token(connection, cast):
    assert not tokens.revoke_token(connection, "w2", cast["token"].id, NOW)
    assert resolve(connection, Credentials(bearer=cast["token"].secret), NOW).actor is not None


def test_an_expired_token_is_nobody(connection, cast):
    token = tokens.make_token(
        connection, "w1", "site", [Scope.ORDERS_READ], created_by=_anyone(connection), now=NOW,
        expires_at=NOW + timedelta(hours=1),
    )  # fmt: skip
    assert resolve(connection, Credentials(bearer=token.secret), NOW).actor is not None
    assert resolve(connection, Credentials(bearer=token.secret), NOW + timedelta(hours=1)).actor is None


def test_in_one_browser_the_named_order_decides_who_speaks(connection, cast):
    client = sessions.open_client_session(connection, cast["link"].id, None, HERE, NOW)
    client = sessions.open_client_session(connection, cast["other link"].id, client, HERE, NOW)

    def who(workshop=None, **given):
        return resolve(connection, Credentials(client_session=client, **given), NOW, workshop).actor

    assert isinstance(who(), Client)
    assert who(order_id="o1") == Client("w1", "o1", cast["link"].id)
    assert who(order_id="o2") == Client("w1", "o2", cast["other link"].id)
    assert who(order_id="o3") is None
    assert isinstance(who(session=cast["maker"]), Maker)
    assert who(session=cast["maker"], order_id="o1") == Client("w1", "o1", cast["link"].id)
    assert isinstance(who(session=cast["maker"], order_id="o3"), Maker)


def test_at_a_public_door_only_the_workshops_own_people_are_more_than_visitors(connection, cast):
    client = sessions.open_client_session(connection, cast["link"].id, None, HERE, NOW)

    def who(**given):
        return resolve(connection, Credentials(client_session=client, **given), NOW, "w1").actor

    assert isinstance(who(), VisitorActor)  # somebody with one order places another
    assert isinstance(who(session=cast["maker"]), Maker)
    assert isinstance(who(session=cast["other maker"]), VisitorActor)


def test_without_anything_one_is_a_visitor_of_the_workshop_or_nobody(connection):
    found = resolve(connection, Credentials(visit="v"), NOW, "w1")
    assert isinstance(found.actor, VisitorActor)
    assert found.actor.key and found.actor.key != "v"
    assert resolve(connection, Credentials(), NOW).actor is None


def test_credentials_are_picked_out_of_a_request():
    cookies = {"slatproof_bench": "s", "slatproof_orders": "c", "slatproof_visit": "v", "other": "x"}
    found = credentials_of({"authorization": "bearer  t ", "slatproof-order": "o1"}, cookies, "192.0.2.7")
    assert found == Credentials("t", "s", "c", "v", "o1", "192.0.2.7")
    assert credentials_of({"authorization": "Basic eA=="}, {}, "").bearer is None
