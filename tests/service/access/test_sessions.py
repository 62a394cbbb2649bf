from datetime import timedelta

import pytest
from sqlalchemy import select

from service.access import accounts, links, sessions
from service.access.secrets import digest
from service.access.sessions import Visitor
from service.orders.actors import Role
from service.store import access_tables

from .conftest import NOW

HERE = Visitor("192.0.2.7", "a browser")


@pytest.fixture
def ada(connection) -> str:
    return accounts.add_account(
        connection, "w1", "ada@fernhollow.example", name="Ada Fenn", role=Role.MAKER, now=NOW
    )


def test_only_the_digest_is_stored(connection, ada):
    secret = sessions.open_account_session(connection, ada, HERE, NOW)
    row = connection.execute(select(access_tables.sessions)).one()
    assert row.secret_hash == digest(secret)
    assert secret not in repr(row)
    assert len(secret) >= len("spsession_") + 43  # 256 bits in base64


def test_a_session_ends_by_idling_by_age_by_revoking_and_with_its_account(connection, ada):
    secret = sessions.open_account_session(connection, ada, HERE, NOW)
    found = sessions.find_account_session(connection, secret, NOW + timedelta(days=6))
    assert found and (found.name, found.role, found.workshop_id) == ("Ada Fenn", "maker", "w1")
    assert found.stale
    assert sessions.find_account_session(connection, secret, NOW + timedelta(days=7, seconds=1)) is None

    for day in range(0, 35, 5):
        sessions.mark_seen(connection, found.id, NOW + timedelta(days=day))
    assert sessions.find_account_session(connection, secret, NOW + timedelta(days=30, seconds=1)) is None

    other = sessions.open_account_session(connection, ada, HERE, NOW)
    sessions.end_session(connection, other, NOW)
    assert sessions.find_account_session(connection, other, NOW) is None

    third = sessions.open_account_session(connection, ada, HERE, NOW)
    accounts.set_disabled(connection, ada, True, NOW)
    assert sessions.find_account_session(connection, third, NOW) is None
    accounts.set_disabled(connection, ada, False, NOW)
    assert sessions.find_account_session(connection, third, NOW) is None  # it does not come back to life


def test_a_new_password_ends_every_session_and_every_other_password_link(connection, ada):
    secret = sessions.open_account_session(connection, ada, HERE, NOW)
    link = accounts.make_password_link(connection, ada, NOW)
    other = accounts.make_password_link(connection, ada, NOW)
    account = accounts.find_password_link(connection, link, NOW)
    assert account and account.id == ada
    accounts.set_password(connection, ada, "hash", NOW)
    assert sessions.find_account_session(connection, secret, NOW) is None
    assert accounts.find_password_link(connection, link, NOW) is None
    assert accounts.find_password_link(connection, other, NOW) is None


def test_a_password_link_expires(connection, ada):
    link = accounts.make_password_link(connection, ada, NOW)
    assert accounts.find_password_link(connection, link, NOW + timedelta(days=2)) is None


def test_somebody_else_cannot_revoke_a_session(connection, ada):
    sessions.open_account_session(connection, ada, HERE, NOW)
    (row,) = sessions.list_sessions(connection, ada, NOW)
    assert not sessions.revoke_session(connection, "someone", row.id, NOW)
    assert sessions.revoke_session(connection, ada, row.id, NOW)
    assert not sessions.revoke_session(connection, ada, row.id, NOW)
    assert sessions.list_sessions(connection, ada, NOW) == []


def test_a_client_session_gathers_links_under_a_new_secret_each_time(connection):
    first, second = (links.make_link(connection, order, "w1", NOW) for order in ("o1", "o2"))
    one = sessions.open_client_session(connection, first.id, None, HERE, NOW)
    two = sessions.open_client_session(connection, second.id, one, HERE, NOW)
    held = sessions.find_client_session(connection, two, NOW)
    assert held and {grant.order_id for grant in held.grants} == {"o1", "o2"}
    assert sessions.find_client_session(connection, one, NOW) is None


def test_a_planted_secret_opens_nothing_and_is_not_kept(connection):
    link = links.make_link(connection, "o1", "w1", NOW)
    secret = sessions.open_client_session(connection, link.id, "spsession_planted", HERE, NOW)
    assert secret != "spsession_planted"
    assert sessions.find_client_session(connection, "spsession_planted", NOW) is None


def test_revoking_or_outliving_a_link_takes_it_from_every_session(connection):
    first, second = (links.make_link(connection, order, "w1", NOW) for order in ("o1", "o2"))
    secret = sessions.open_client_session(connection, first.id, None, HERE, NOW)
    secret = sessions.open_client_session(connection, second.id, secret, HERE, NOW)
    assert links.revoke_links(connection, "o1", NOW) == 1
    held = sessions.find_client_session(connection, secret, NOW)
    assert held and [grant.order_id for grant in held.grants] == ["o2"]
    assert sessions.find_client_session(connection, secret, NOW + links.LIFE) is None


def test_an_accounts_secret_is_no_clients_secret(connection, ada):
    secret = sessions.open_account_session(connection, ada, HERE, NOW)
    assert sessions.find_client_session(connection, secret, NOW) is None
    link = links.make_link(connection, "o1", "w1", NOW)
    client = sessions.open_client_session(connection, link.id, None, HERE, NOW)
    assert sessions.find_account_session(connection, client, NOW) is None


def test_sweeping_keeps_what_is_live(connection, ada):
    sessions.open_account_session(connection, ada, HERE, NOW)
    assert sessions.sweep_sessions(connection, NOW + timedelta(days=29)) == 0
    assert sessions.sweep_sessions(connection, NOW + timedelta(days=62)) == 1
