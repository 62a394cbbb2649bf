"""One's own sessions and password: nothing without the password once more, nothing of anybody else's."""

from __future__ import annotations

import pytest

from service.access import accounts
from service.orders.actors import Client, Helper, Maker
from service.orders.errors import ConflictError, InvalidError, NotAllowedError, NotFoundError, TooManyError
from service.usecases import own_account, second_step, signing_in

from .test_people import ELSEWHERE, GOOD, HERE, ada, ctx, quick_passwords, who  # noqa: F401 - fixtures

EMAIL = "ada@oxbarrow.example"
NEW = "two coats of oil, one of patience"


@pytest.fixture
def here(ctx, ada):  # noqa: F811
    """The secret and the row of a session at the bench; another is open elsewhere."""
    secret = signing_in.sign_in(ctx, HERE, EMAIL, GOOD).secret
    (row,) = own_account.list_my_sessions(ctx, ada)
    return secret, row.id


@pytest.fixture
def elsewhere(ctx, here):  # noqa: F811
    return signing_in.sign_in(ctx, ELSEWHERE, EMAIL, GOOD).secret


def test_one_ends_ones_own_sessions_only(ctx, ada, here):  # noqa: F811
    for other in (Maker("w1", "other", "O"), Maker("w2", ada.account_id, "Odo")):
        with pytest.raises(NotFoundError):
            own_account.end_my_sessions(ctx, other, GOOD, here[1], here=None)
    with pytest.raises(NotFoundError):
        own_account.end_my_sessions(ctx, ada, GOOD, "no such session", here=here[1])
    assert own_account.end_my_sessions(ctx, ada, GOOD, here[1], here=here[1]) == 1
    assert own_account.list_my_sessions(ctx, ada) == ()


def test_sessions_end_everywhere_but_here(ctx, ada, here, elsewhere):  # noqa: F811
    """OWASP ASVS 5.0.0, 7.5.2: any or all of them, having authenticated again."""
    with pytest.raises(InvalidError, match="not your password"):
        own_account.end_my_sessions(ctx, ada, "not the password", None, here=here[1])
    assert isinstance(who(ctx, session=elsewhere), Maker)
    assert own_account.end_my_sessions(ctx, ada, GOOD, None, here=here[1]) == 1
    assert [row.id for row in own_account.list_my_sessions(ctx, ada)] == [here[1]]
    assert isinstance(who(ctx, session=here[0]), Maker)
    assert not isinstance(who(ctx, session=elsewhere), Maker)


def test_a_new_password_asks_for_the_old_one_and_ends_what_is_open_elsewhere(ctx, ada, here, elsewhere):  # noqa: F811
    """OWASP ASVS 5.0.0, 6.2.3."""
    with ctx.store.writing() as connection:
        link = accounts.make_password_link(connection, ada.account_id, ctx.clock.now())
    with pytest.raises(InvalidError, match="not your password"):
        own_account.change_my_password(ctx, ada, "not the password", NEW, here=here[1])
    with pytest.raises(InvalidError) as weak:
        own_account.change_my_password(ctx, ada, GOOD, "password1234", here=here[1])
    assert [(problem.field, problem.code) for problem in weak.value.problems] == [
        ("new_password", "weak-password")
    ]
    assert isinstance(who(ctx, session=elsewhere), Maker)
    own_account.change_my_password(ctx, ada, GOOD, NEW, here=here[1])
    assert isinstance(who(ctx, session=here[0]), Maker)
    assert not isinstance(who(ctx, session=elsewhere), Maker)
    with pytest.raises(ConflictError):
        signing_in.sign_in(ctx, HERE, EMAIL, GOOD)
    assert signing_in.sign_in(ctx, HERE, EMAIL, NEW)
    with pytest.raises(NotFoundError):
        signing_in.whose_password(ctx, link)


def test_guessing_the_password_at_an_open_browser_is_slowed(ctx, ada, here):  # noqa: F811
    for _ in range(10):
        with pytest.raises(InvalidError):
            own_account.end_my_sessions(ctx, ada, "guess", None, here=here[1])
    for ask in (
        lambda: own_account.change_my_password(ctx, ada, GOOD, NEW, here=here[1]),
        lambda: own_account.end_my_sessions(ctx, ada, GOOD, None, here=here[1]),
        lambda: second_step.begin_second_step(ctx, ada, GOOD),
    ):
        with pytest.raises(TooManyError):
            ask()


def test_who_has_no_account_has_neither(ctx):  # noqa: F811
    nobody = Client("w1", "o-w1", "l")
    for ask in (
        lambda: own_account.list_my_sessions(ctx, nobody),
        lambda: own_account.end_my_sessions(ctx, nobody, GOOD, None, here=None),
        lambda: own_account.change_my_password(ctx, nobody, GOOD, NEW, here=None),
    ):
        with pytest.raises(NotAllowedError):
            ask()
    with pytest.raises(NotFoundError):
        own_account.change_my_password(ctx, Helper("w1", "gone", "Hal"), GOOD, NEW, here=None)
