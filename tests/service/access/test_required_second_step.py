"""A second step asked of everybody: whoever has none is nobody until it is set up (OWASP ASVS 5.0, 6.3.3)."""

from __future__ import annotations

import pytest

from service.access import sessions, tokens
from service.access.resolve import Credentials, resolve
from service.orders.actors import Client, Helper, Maker, Role, Scope, ShopSite
from service.orders.errors import ConflictError, InvalidError, NotAllowedError
from service.orders.record import EntryKind
from service.store import record
from service.usecases import people, second_step, signing_in
from service.usecases.second_step import AskedBy

from .test_people import GOOD, HERE, ada, ctx, quick_passwords  # noqa: F401 - fixtures
from .test_second_step import EMAIL, app, enrolled  # noqa: F401 - fixtures


def seen(ctx, secret, workshop=None):  # noqa: F811
    """Who a session's secret is, as the doors ask."""
    required = ctx.second_step_required
    with ctx.store.reading() as connection:
        given = Credentials(session=secret)
        return resolve(connection, given, ctx.clock.now(), workshop, second_step=required)


@pytest.fixture
def ben(ctx, ada):  # noqa: F811
    row = people.open_account(ctx, "w1", "ben@oxbarrow.example", name="Ben", role=Role.HELPER, password=GOOD)
    return Helper("w1", row, "Ben")


def ask_it(ctx, ada, required=True):  # noqa: F811
    return second_step.require_second_step(ctx, ada, GOOD, required=required)


def test_whoever_has_none_is_nobody_until_it_is_set_up(ctx, ada, enrolled, ben):  # noqa: F811
    before = signing_in.sign_in(ctx, HERE, "ben@oxbarrow.example", GOOD)
    assert not before.second_step_due and isinstance(seen(ctx, before.secret).actor, Helper)
    assert ask_it(ctx, ada).asked_by is AskedBy.WORKSHOP
    after = signing_in.sign_in(ctx, HERE, "ben@oxbarrow.example", GOOD)
    assert after.second_step_due
    for secret in (before.secret, after.secret):  # who was signed in already is asked as well
        for workshop in (None, "w1"):
            found = seen(ctx, secret, workshop)
            assert (found.actor, found.unready) == (None, Helper("w1", ben.account_id, "Ben"))
    begun = second_step.begin_second_step(ctx, ben, GOOD)
    assert seen(ctx, after.secret).actor is None  # a key that was never confirmed is none
    second_step.confirm_second_step(ctx, ben, app(ctx, begun))
    assert isinstance(seen(ctx, after.secret).actor, Helper)


def test_those_who_have_one_sign_in_as_before(ctx, ada, enrolled):  # noqa: F811
    begun, _ = enrolled
    ask_it(ctx, ada)
    signed = signing_in.sign_in(ctx, HERE, EMAIL, GOOD, app(ctx, begun))
    assert not signed.second_step_due and isinstance(seen(ctx, signed.secret).actor, Maker)


def test_it_is_asked_in_that_workshop_alone(ctx, ada, enrolled):  # noqa: F811
    people.open_account(ctx, "w2", "cora@hollinside.example", name="Cora", role=Role.MAKER, password=GOOD)
    ask_it(ctx, ada)
    cora = signing_in.sign_in(ctx, HERE, "cora@hollinside.example", GOOD)
    assert not cora.second_step_due and isinstance(seen(ctx, cora.secret).actor, Maker)


def test_the_installation_asks_it_of_every_workshop(ctx, ada):  # noqa: F811
    ctx.second_step_required = True
    signed = signing_in.sign_in(ctx, HERE, EMAIL, GOOD)
    assert signed.second_step_due and seen(ctx, signed.secret).actor is None
    assert second_step.get_second_step(ctx, ada).asked_by is AskedBy.INSTALLATION
    second_step.confirm_second_step(ctx, ada, app(ctx, second_step.begin_second_step(ctx, ada, GOOD)))
    assert isinstance(seen(ctx, signed.secret).actor, Maker)
    # A workshop cannot take back what the installation asks.
    assert ask_it(ctx, ada, required=False).asked_by is AskedBy.INSTALLATION


def test_tokens_are_as_before(ctx, ada, enrolled):  # noqa: F811
    with ctx.store.writing() as connection:
        made = tokens.make_token(
            connection, "w1", "site", [Scope.ORDERS_READ], created_by=ada.account_id, now=ctx.clock.now()
        )
    ask_it(ctx, ada)
    with ctx.store.reading() as connection:
        found = resolve(connection, Credentials(bearer=made.secret), ctx.clock.now(), second_step=True)
    assert isinstance(found.actor, ShopSite)


def test_only_a_maker_with_one_asks_it_of_everybody_with_the_password(ctx, ada, ben):  # noqa: F811
    for nobody in (ben, Client("w1", "o-w1", "l")):
        with pytest.raises(NotAllowedError):
            ask_it(ctx, nobody)
    with pytest.raises(ConflictError) as off:  # it would shut out whoever asks
        ask_it(ctx, ada)
    assert off.value.code == "second-step-off"
    begun = second_step.begin_second_step(ctx, ada, GOOD)
    second_step.confirm_second_step(ctx, ada, app(ctx, begun))
    with pytest.raises(InvalidError, match="password"):
        second_step.require_second_step(ctx, ada, "not the password", required=True)
    for required in (True, True, False):
        ask_it(ctx, ada, required)
    with ctx.store.reading() as connection:
        told = [e.facts["what"] for e in record.walk(connection, "w1") if e.kind is EntryKind.ACCESS]
    assert told[-2:] == ["asks a second step of everybody", "leaves the second step to each"]


def test_another_phone_is_a_removal_and_a_new_set_up_with_nothing_open_in_between(ctx, ada, enrolled):  # noqa: F811
    _, codes = enrolled
    ask_it(ctx, ada)
    secret = signing_in.sign_in(ctx, HERE, EMAIL, GOOD, codes[0]).secret  # the phone is gone
    second_step.end_second_step(ctx, ada, GOOD, codes[1])
    assert seen(ctx, secret).actor is None
    second_step.confirm_second_step(ctx, ada, app(ctx, second_step.begin_second_step(ctx, ada, GOOD)))
    assert isinstance(seen(ctx, secret).actor, Maker)


def test_a_session_that_opens_more_goes_on_under_another_secret(ctx, ada):  # noqa: F811
    ctx.second_step_required = True
    old = signing_in.sign_in(ctx, HERE, EMAIL, GOOD).secret
    second_step.confirm_second_step(ctx, ada, app(ctx, second_step.begin_second_step(ctx, ada, GOOD)))
    new = second_step.go_on_with_second_step(ctx, ada, HERE, old)
    assert seen(ctx, old).unready is None and seen(ctx, old).actor is None
    assert isinstance(seen(ctx, new).actor, Maker)
    with pytest.raises(NotAllowedError):
        second_step.go_on_with_second_step(ctx, Client("w1", "o-w1", "l"), HERE, new)


def test_lacking_is_asked_and_not_had():
    def session(has, required):
        return sessions.AccountSession("s", "a", "w1", "Ada", EMAIL, "maker", has, required, stale=False)

    lacking = [
        (has, required, installation)
        for has in (False, True)
        for required in (False, True)
        for installation in (False, True)
        if session(has, required).lacks_second_step(installation)
    ]
    assert lacking == [(False, False, True), (False, True, False), (False, True, True)]
