"""The use cases of people: sign-in, passwords, links, tokens."""

from __future__ import annotations

from datetime import timedelta
from types import SimpleNamespace

import pytest
from sqlalchemy import insert, inspect, select

from service.access import accounts, links, passwords
from service.access.resolve import Credentials, resolve
from service.access.sessions import Visitor
from service.orders.actors import Client, Helper, Maker, Role, Scope
from service.orders.errors import ConflictError, InvalidError, NotAllowedError, NotFoundError, TooManyError
from service.orders.record import EntryKind
from service.store import record, tables
from service.store.engine import Database
from service.store.mail_tables import messages
from service.store.migrating import upgrade
from service.usecases import people, signing_in

from .conftest import NOW

GOOD = "sawdust in the coffee again"
HERE = Visitor("192.0.2.7", "a browser")
ELSEWHERE = Visitor("198.51.100.9", "another")


class Clock:
    moment = NOW

    def now(self):
        return self.moment


@pytest.fixture(scope="module", autouse=True)
def quick_passwords():
    from argon2 import PasswordHasher

    quick = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
    patch = pytest.MonkeyPatch()
    patch.setattr(passwords, "_hasher", quick)
    patch.setattr(passwords, "_nobody", lambda: quick.hash("nobody"))
    yield
    patch.undo()


@pytest.fixture
def ctx(tmp_path):
    store = Database(f"sqlite:///{tmp_path}/p.db")
    upgrade(store)
    with store.writing() as connection:
        for key in ("w1", "w2"):
            connection.execute(
                insert(tables.workshops).values(
                    id=key, key=key, name=key, revision=1, allowances={}, usual_bit="v60",
                    retention_days=365, created_at=NOW,
                )
            )  # fmt: skip
            connection.execute(
                insert(tables.orders).values(
                    id=f"o-{key}", workshop_id=key, number=1, state="draft", revision=1, activity=1,
                    contact_name="Imke", contact_email="imke@quillfern.example", contact_phone="",
                    contact_organisation="", due=NOW.date(), rights_granted=True, note="", reason="",
                    created_at=NOW, updated_at=NOW,
                )
            )  # fmt: skip
            connection.execute(insert(tables.counters).values(workshop_id=key, orders=1))
            record.found(connection, key)
    ctx = SimpleNamespace(store=store, clock=Clock(), second_step_required=False, breached=())
    ctx.clock.moment = NOW
    yield ctx
    store.close()


@pytest.fixture
def ada(ctx):
    row = people.open_account(
        ctx, "w1", "Ada@Oxbarrow.example", name="Ada Fenn", role=Role.MAKER, password=GOOD
    )
    return Maker("w1", row, "Ada Fenn")


def mails(ctx):
    with ctx.store.reading() as connection:
        return connection.execute(select(messages).order_by(messages.c.created_at)).all()


def who(ctx, **given):
    with ctx.store.reading() as connection:
        return resolve(connection, Credentials(**given), ctx.clock.now(), "w1").actor


def test_signing_in_and_out(ctx, ada):
    begun = signing_in.sign_in(ctx, HERE, " ada@oxbarrow.EXAMPLE ", GOOD)
    actor = who(ctx, session=begun.secret)
    assert isinstance(actor, Maker) and actor.account_id == ada.account_id
    signing_in.sign_out(ctx, begun.secret)
    assert not isinstance(who(ctx, session=begun.secret), Maker)
    signing_in.sign_out(ctx, "never was")


def test_each_sign_in_has_a_new_secret(ctx, ada):
    secrets = {signing_in.sign_in(ctx, HERE, "ada@oxbarrow.example", GOOD).secret for _ in range(3)}
    assert len(secrets) == 3


@pytest.mark.parametrize("email", ["ada@oxbarrow.example", "nobody@oxbarrow.example", "no address", ""])
def test_a_wrong_password_and_no_such_account_look_the_same(ctx, ada, email):
    with pytest.raises(ConflictError) as refusal:
        signing_in.sign_in(ctx, HERE, email, "not the password")
    assert refusal.value.code == "wrong-password"
    assert refusal.value.message == "The address or the password is not right. Check both and try again."


def test_a_disabled_account_cannot_come_in(ctx, ada):
    with ctx.store.writing() as connection:
        accounts.set_disabled(connection, ada.account_id, True, NOW)
    with pytest.raises(ConflictError):
        signing_in.sign_in(ctx, HERE, "ada@oxbarrow.example", GOOD)


def test_guessing_is_slowed_and_outlives_a_restart(ctx, ada, tmp_path):
    for _ in range(5):
        with pytest.raises(ConflictError):
            signing_in.sign_in(ctx, ELSEWHERE, "ada@oxbarrow.example", "guess after guess")
    ctx.store.close()
    ctx.store = Database(f"sqlite:///{tmp_path}/p.db")
    with pytest.raises(TooManyError) as refusal:
        signing_in.sign_in(ctx, ELSEWHERE, "ada@oxbarrow.example", GOOD)  # even the right one
    assert 0 < refusal.value.retry_after <= 900
    assert signing_in.sign_in(ctx, HERE, "ada@oxbarrow.example", GOOD)  # somewhere else is not held up
    ctx.clock.moment = NOW + timedelta(minutes=15, seconds=1)
    assert signing_in.sign_in(ctx, ELSEWHERE, "ada@oxbarrow.example", GOOD)


def test_many_guessers_do_not_lock_the_owner_out_of_where_they_signed_in_before(ctx, ada):
    signing_in.sign_in(ctx, HERE, "ada@oxbarrow.example", GOOD)
    for host in range(60):
        with pytest.raises((ConflictError, TooManyError)):
            signing_in.sign_in(ctx, Visitor(f"203.0.113.{host}"), "ada@oxbarrow.example", "guess guess guess")
    with pytest.raises(TooManyError):
        signing_in.sign_in(ctx, ELSEWHERE, "ada@oxbarrow.example", GOOD)
    assert signing_in.sign_in(ctx, HERE, "ada@oxbarrow.example", GOOD)


def test_an_older_hash_is_renewed_at_sign_in(ctx, ada):
    from argon2 import PasswordHasher

    weaker = PasswordHasher(time_cost=2, memory_cost=16, parallelism=1).hash(GOOD)
    with ctx.store.writing() as connection:
        accounts.replace_hash(connection, ada.account_id, weaker)
    signing_in.sign_in(ctx, HERE, "ada@oxbarrow.example", GOOD)
    with ctx.store.reading() as connection:
        account = accounts.accounts_of(connection, "ada@oxbarrow.example")[0]
    assert account and account.password_hash != weaker


def test_an_invited_person_sets_a_password_once(ctx, ada):
    person = people.invite(ctx, ada, "ben@oxbarrow.example", "Ben  Fenn", Role.HELPER)
    assert (person.name, person.has_password) == ("Ben Fenn", False)
    (mail,) = mails(ctx)
    assert (mail.kind, mail.audience, mail.account_id) == ("invitation", "account", person.id)
    with ctx.store.writing() as connection:
        secret = accounts.make_password_link(connection, person.id, NOW)
    with pytest.raises(InvalidError):
        signing_in.choose_password(ctx, secret, "short")
    signing_in.choose_password(ctx, secret, "a plane and a pencil")
    begun = signing_in.sign_in(ctx, HERE, "ben@oxbarrow.example", "a plane and a pencil")
    assert isinstance(who(ctx, session=begun.secret), Helper)
    with pytest.raises(NotFoundError):
        signing_in.choose_password(ctx, secret, "another good sentence")


def test_a_forgotten_password_is_mailed_for_and_never_tells_who_has_an_account(ctx, ada):
    signing_in.ask_for_password(ctx, HERE, "nobody@oxbarrow.example")
    assert mails(ctx) == []
    for _ in range(6):
        signing_in.ask_for_password(ctx, HERE, "ada@oxbarrow.example")
    assert len(mails(ctx)) == 3  # an hour's worth; nobody's inbox is flooded
    with pytest.raises(TooManyError):
        for _ in range(10):
            signing_in.ask_for_password(ctx, HERE, "ada@oxbarrow.example")


def test_only_makers_manage_people_tokens_and_links(ctx, ada):
    helper = Helper("w1", "h", "Ben")
    client = Client("w1", "o-w1", "l")
    for actor in (helper, client):
        for act in (
            lambda a: people.invite(ctx, a, "x@y.example", "X", Role.MAKER),
            lambda a: people.change_person(ctx, a, ada.account_id, role=Role.HELPER),
            lambda a: people.make_site_token(ctx, a, "site", frozenset({Scope.ORDERS_READ})),
            lambda a: people.list_site_tokens(ctx, a),
            lambda a: people.revoke_site_token(ctx, a, "t"),
            lambda a: people.mail_client_link(ctx, a, "o-w1"),
            lambda a: people.revoke_client_links(ctx, a, "o-w1"),
        ):
            with pytest.raises(NotAllowedError):
                act(actor)
    assert people.list_people(ctx, helper)
    with pytest.raises(NotAllowedError):
        people.list_people(ctx, client)
    with pytest.raises(NotAllowedError):
        people.list_client_links(ctx, client, "o-w1")


def test_who_may_come_in_is_on_record(ctx, ada):
    """Every change of people, tokens and links, by whom; nothing for what changed nothing."""
    ben = people.invite(ctx, ada, "ben@oxbarrow.example", "Ben", Role.HELPER)
    people.change_person(ctx, ada, ben.id, role=Role.MAKER)
    people.change_person(ctx, ada, ben.id, role=Role.MAKER)
    people.change_person(ctx, ada, ben.id, disabled=True)
    token = people.make_site_token(ctx, ada, "site", frozenset({Scope.ORDERS_READ}))
    people.revoke_site_token(ctx, ada, token.id)
    people.mail_client_link(ctx, ada, "o-w1")
    people.revoke_client_links(ctx, ada, "o-w1")  # there is none to revoke
    with ctx.store.reading() as connection:
        entries = list(record.walk(connection, "w1"))
    assert {entry.kind for entry in entries} == {EntryKind.ACCESS}
    told = [(entry.facts["what"], entry.order_id) for entry in entries]
    assert told == [
        ("opened an account", None), ("invited", None), ("changed a person", None), ("changed a person", None),
        ("made a token", None), ("ended a token", None), ("mailed a link", "o-w1"),
    ]  # fmt: skip
    assert entries[0].actor == "system:command line"
    assert {entry.actor for entry in entries[1:]} == {ada.identity}
    assert entries[2].facts == {
        "what": "changed a person", "person": ben.id, "role": "maker", "shut_out": False, "renamed": False,
    }  # fmt: skip
    assert "ben@oxbarrow.example" not in repr(entries)


def test_workshops_are_walled_off(ctx, ada):
    stranger = Maker("w2", "m2", "Cora")
    assert people.list_people(ctx, stranger) == ()
    with pytest.raises(NotFoundError):
        people.change_person(ctx, stranger, ada.account_id, role=Role.HELPER)
    for act in (people.mail_client_link, people.revoke_client_links, people.list_client_links):
        with pytest.raises(NotFoundError):
            act(ctx, stranger, "o-w1")
    token = people.make_site_token(ctx, ada, "site", frozenset({Scope.ORDERS_READ}))
    with pytest.raises(NotFoundError):
        people.revoke_site_token(ctx, stranger, token.id)


def test_one_maker_always_stays(ctx, ada):
    with pytest.raises(ConflictError, match="at least one maker"):
        people.change_person(ctx, ada, ada.account_id, role=Role.HELPER)
    people.open_account(ctx, "w1", "eve@oxbarrow.example", name="Eve", role=Role.MAKER, password=GOOD)
    with pytest.raises(ConflictError, match="yourself out"):
        people.change_person(ctx, ada, ada.account_id, disabled=True)
    assert people.change_person(ctx, ada, ada.account_id, role=Role.HELPER).role is Role.HELPER


def test_a_second_account_with_one_address_is_refused(ctx, ada):
    with pytest.raises(ConflictError, match="already"):
        people.invite(ctx, ada, "ADA@oxbarrow.example", "Ada", Role.HELPER)
    assert mails(ctx) == []


def test_what_is_wrong_is_said_all_at_once(ctx, ada):
    with pytest.raises(InvalidError) as refusal:
        people.invite(ctx, ada, "not an address", " ", Role.CLIENT)
    assert {problem.field for problem in refusal.value.problems} == {"email", "name", "role"}
    with pytest.raises(InvalidError) as refusal:
        people.make_site_token(ctx, ada, "", frozenset(), NOW)
    assert {problem.field for problem in refusal.value.problems} == {"name", "scopes", "expires_at"}


def test_opening_a_link_gives_a_browser_its_order_and_changes_nothing_else(ctx):
    with ctx.store.writing() as connection:
        link = links.make_link(connection, "o-w1", "w1", NOW)
    first = signing_in.open_link(ctx, HERE, link.token, None)
    again = signing_in.open_link(ctx, ELSEWHERE, link.token, None)  # a mail scanner was there first
    assert first.order_id == again.order_id == "o-w1"
    assert who(ctx, client_session=again.secret, order_id="o-w1") == Client("w1", "o-w1", link.id)
    with pytest.raises(NotFoundError):
        signing_in.open_link(ctx, HERE, link.token + "x", None)


def test_an_expired_link_can_ask_for_a_new_one_a_revoked_one_cannot(ctx, ada):
    with ctx.store.writing() as connection:
        link = links.make_link(connection, "o-w1", "w1", NOW)
    ctx.clock.moment = NOW + links.LIFE + timedelta(days=1)
    with pytest.raises(NotFoundError):
        signing_in.open_link(ctx, HERE, link.token, None)
    for _ in range(5):
        signing_in.ask_for_link(ctx, HERE, link.token)
    assert [mail.kind for mail in mails(ctx)] == ["link"] * 3
    people.revoke_client_links(ctx, ada, "o-w1")
    ctx.clock.moment += timedelta(hours=2)
    signing_in.ask_for_link(ctx, HERE, link.token)
    signing_in.ask_for_link(ctx, HERE, "splink_never")
    assert len(mails(ctx)) == 3


def test_no_secret_is_stored_anywhere(ctx, ada):
    begun = signing_in.sign_in(ctx, HERE, "ada@oxbarrow.example", GOOD)
    token = people.make_site_token(ctx, ada, "site", frozenset({Scope.ORDERS_READ}))
    with ctx.store.writing() as connection:
        link = links.make_link(connection, "o-w1", "w1", NOW)
        password_link = accounts.make_password_link(connection, ada.account_id, NOW)
    opened = signing_in.open_link(ctx, HERE, link.token, None)
    with ctx.store.reading() as connection:
        names = inspect(connection).get_table_names()
        stored = "".join(repr(connection.exec_driver_sql(f'SELECT * FROM "{name}"').all()) for name in names)
    assert "sessions" in names and "client_links" in names
    for secret in (begun.secret, token.secret, link.token, password_link, opened.secret, GOOD):
        assert secret not in stored


def wrong(ctx, visitor, times):
    """So many wrong tries; what each was told."""
    told = []
    for _ in range(times):
        try:
            signing_in.sign_in(ctx, visitor, "ada@oxbarrow.example", "not it at all")
        except (ConflictError, TooManyError) as error:
            told.append(type(error))
    return told


def test_a_network_of_64_bits_is_one_guesser(ctx, ada):
    neighbours = [Visitor(f"2001:db8::{n}") for n in range(6)]
    assert [wrong(ctx, each, 1) for each in neighbours] == [[ConflictError]] * 5 + [[TooManyError]]
    assert wrong(ctx, Visitor("2001:db8:0:1::1"), 1) == [ConflictError]


def test_strangers_do_not_lock_an_owner_out_of_a_browser_the_account_knows(ctx, ada):
    browser = Visitor("203.0.113.5", "a browser", "a-browser")
    assert signing_in.sign_in(ctx, browser, "ada@oxbarrow.example", GOOD).secret
    for n in range(60):  # a guesser with many addresses, and one on the owner's own network
        wrong(ctx, Visitor(f"198.51.100.{n}"), 1)
    wrong(ctx, Visitor("203.0.113.5"), 40)
    assert wrong(ctx, Visitor("198.51.100.200"), 1) == [TooManyError]
    elsewhere = Visitor("192.0.2.200", "a browser", "a-browser")  # on another network meanwhile
    for visitor in (browser, elsewhere):
        assert signing_in.sign_in(ctx, visitor, "ada@oxbarrow.example", GOOD).secret
    assert wrong(ctx, browser, 6) == [ConflictError] * 5 + [
        TooManyError
    ]  # whoever stole the browser guesses no faster
    ctx.clock.moment += timedelta(days=91)
    assert wrong(ctx, Visitor("192.0.2.201", "a browser", "a-browser"), 1) == [ConflictError]


def test_behind_a_proxy_that_was_not_declared_others_do_not_use_up_ones_tries(ctx, ada):
    everybody = Visitor("", "somebody")
    assert wrong(ctx, everybody, 6) == [ConflictError] * 5 + [TooManyError]
    for n in range(40):
        with pytest.raises(ConflictError):
            signing_in.sign_in(ctx, everybody, f"nobody{n}@oxbarrow.example", "not it at all")
