"""One person, two workshops: signed in once, and each workshop behind its wall (PostgreSQL's too)."""

from __future__ import annotations

from datetime import timedelta
from types import SimpleNamespace

import pytest
from sqlalchemy import insert

from service.access import second_factor
from service.access.resolve import Credentials, resolve
from service.access.sessions import Visitor
from service.orders.actors import Helper, Maker, Role
from service.orders.errors import ConflictError, NotFoundError
from service.store import record, tables, wall
from service.store.engine import Database
from service.usecases import own_account, own_workshops, people, second_step, signing_in

from .conftest import NOW

GOOD, BETTER = "sawdust in the coffee again", "shavings in the tea at last"
ADDRESS, HERE = "ada@oxbarrow.example", Visitor("192.0.2.7", "a browser")
pytestmark = pytest.mark.postgres


@pytest.fixture
def ctx(postgres_url):
    store = Database(postgres_url)
    with store.writing() as connection:
        for key in ("oxbarrow", "fenwick", "alder"):
            shop = {
                "id": key,
                "key": key,
                "name": key.title(),
                "revision": 1,
                "allowances": {},
                "usual_bit": "v60",
            }
            connection.execute(
                insert(tables.workshops).values(shop | {"retention_days": 365, "created_at": NOW})
            )
            connection.execute(insert(tables.workshop_keys).values(workshop_id=key, private_key="0" * 64))
            record.found(connection, key)
    clock = SimpleNamespace(now=lambda: NOW)
    yield SimpleNamespace(store=store, clock=clock, breached=(), second_step_required=False)
    store.close()


@pytest.fixture
def both(ctx):
    """Ada, maker of the one, is let into the other as a helper by its maker, who sees nothing of the first."""
    ctx.clock.now = lambda: NOW - timedelta(days=1)
    people.open_account(ctx, "oxbarrow", ADDRESS, name="Ada", role=Role.MAKER, password=GOOD)
    ctx.clock.now = lambda: NOW
    people.open_account(ctx, "fenwick", "isa@fenwick.example", name="Isa", role=Role.MAKER, password=BETTER)
    isa = who(ctx, signing_in.sign_in(ctx, HERE, "isa@fenwick.example", BETTER).secret)
    with wall.serving("fenwick"):
        invited = people.invite(ctx, isa, ADDRESS, "Ada F.", Role.HELPER)
        assert not invited.has_password
        assert [each.name for each in people.list_people(ctx, isa)] == ["Ada F.", "Isa"]
        with pytest.raises(ConflictError, match="already"):
            people.invite(ctx, isa, ADDRESS, "Ada again", Role.HELPER)
    return isa


def who(ctx, secret: str):
    with ctx.store.reading() as connection:
        return resolve(connection, Credentials(session=secret), NOW).actor


def go(ctx, actor, secret: str, key: str, code: str = "") -> str:
    with wall.serving(actor.workshop_id):
        return own_workshops.go_to_workshop(ctx, actor, HERE, secret, key=key, code=code).secret


def test_one_goes_from_one_to_the_other_with_one_password(ctx, both):
    begun = signing_in.sign_in(ctx, HERE, ADDRESS, GOOD)
    ada = who(ctx, begun.secret)
    assert begun.several and isinstance(ada, Maker)
    with wall.serving(ada.workshop_id):
        mine = own_workshops.list_my_workshops(ctx, ada)
    assert [(each.key, each.role, each.here) for each in mine] == [
        ("fenwick", Role.HELPER, False),
        ("oxbarrow", Role.MAKER, True),
    ]
    there = go(ctx, ada, begun.secret, "fenwick")
    helper = who(ctx, there)
    assert isinstance(helper, Helper) and (helper.workshop_id, helper.name) == ("fenwick", "Ada F.")
    assert who(ctx, begun.secret) is None  # the session she came from has ended
    with pytest.raises(NotFoundError):
        go(ctx, helper, there, "alder")


def test_a_new_password_is_that_of_both_and_ends_their_sessions(ctx, both):
    first = signing_in.sign_in(ctx, HERE, ADDRESS, GOOD).secret
    there = go(ctx, who(ctx, first), first, "fenwick")
    back = signing_in.sign_in(ctx, HERE, ADDRESS, GOOD).secret
    ada = who(ctx, back)
    with wall.serving(ada.workshop_id):
        own_account.change_my_password(ctx, ada, GOOD, BETTER, here=None)
    assert who(ctx, there) is None and who(ctx, back) is None
    with pytest.raises(ConflictError):
        signing_in.sign_in(ctx, HERE, ADDRESS, GOOD)
    fresh = signing_in.sign_in(ctx, HERE, ADDRESS, BETTER).secret
    assert who(ctx, go(ctx, who(ctx, fresh), fresh, "oxbarrow")).workshop_id == "oxbarrow"


def test_a_workshop_that_shuts_somebody_out_shuts_them_out_of_itself_alone(ctx, both):
    with wall.serving("fenwick"):
        row = next(each for each in people.list_people(ctx, both) if each.email == ADDRESS)
        people.change_person(ctx, both, row.id, disabled=True)
    begun = signing_in.sign_in(ctx, HERE, ADDRESS, GOOD)
    assert not begun.several
    with pytest.raises(NotFoundError):
        go(ctx, who(ctx, begun.secret), begun.secret, "fenwick")


def test_a_second_step_is_asked_for_where_it_was_set_up(ctx, both):
    first = signing_in.sign_in(ctx, HERE, ADDRESS, GOOD).secret
    there = go(ctx, who(ctx, first), first, "fenwick")
    helper = who(ctx, there)
    with wall.serving("fenwick"):
        enrolment = second_step.begin_second_step(ctx, helper, GOOD)
        code = code_of(enrolment.secret, NOW)
        second_step.confirm_second_step(ctx, helper, code)
    back = go(ctx, helper, there, "oxbarrow")
    with pytest.raises(ConflictError, match="code"):
        go(ctx, who(ctx, back), back, "fenwick")
    ctx.clock.now = lambda: NOW + timedelta(seconds=60)
    late = code_of(enrolment.secret, NOW + timedelta(seconds=60))
    assert isinstance(who(ctx, go(ctx, who(ctx, back), back, "fenwick", late)), Helper)


def code_of(secret: str, at) -> str:
    import base64

    return second_factor.code_at(base64.b32decode(secret), at)
