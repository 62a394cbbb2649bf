"""Codes from an app: RFC 6238's own values, each good once, none without the password; and the ways out."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from service.access import second_factor
from service.orders.actors import Client, Helper, Maker, Role
from service.orders.errors import ConflictError, InvalidError, NotAllowedError, NotFoundError, TooManyError
from service.orders.record import EntryKind
from service.store import record
from service.usecases import people, second_step, signing_in

from .test_people import ELSEWHERE, GOOD, HERE, ada, ctx, quick_passwords, who  # noqa: F401 - fixtures

KEY = b"12345678901234567890"
EMAIL = "ada@oxbarrow.example"


@pytest.mark.parametrize(
    ("seconds", "code"),
    [  # RFC 6238 appendix B, SHA-1; of its eight digits the last six (RFC 4226 §5.3 takes them modulo 10^6)
        (59, "94287082"),
        (1111111109, "07081804"),
        (1111111111, "14050471"),
        (1234567890, "89005924"),
        (2000000000, "69279037"),
        (20000000000, "65353130"),
    ],
)
def test_codes_are_those_of_rfc_6238(seconds, code):
    assert second_factor.code_at(KEY, datetime.fromtimestamp(seconds, UTC)) == code[-6:]


def app(ctx, enrolment, **later):  # noqa: F811
    """What the person's app shows now, or so much later."""
    import base64

    at = ctx.clock.now() + timedelta(**later)
    return second_factor.code_at(base64.b32decode(enrolment.secret), at)


@pytest.fixture
def enrolled(ctx, ada):  # noqa: F811
    begun = second_step.begin_second_step(ctx, ada, GOOD)
    codes = second_step.confirm_second_step(ctx, ada, app(ctx, begun))
    ctx.clock.moment += timedelta(seconds=30)
    yield begun, codes
    ctx.clock.moment = datetime(2026, 5, 4, 9, 30, tzinfo=UTC)


def test_nothing_is_asked_for_until_a_code_was_seen(ctx, ada):  # noqa: F811
    begun = second_step.begin_second_step(ctx, ada, GOOD)
    assert begun.uri.startswith("otpauth://totp/Slatproof:ada%40oxbarrow.example?")
    assert signing_in.sign_in(ctx, HERE, EMAIL, GOOD)
    with pytest.raises(InvalidError):
        second_step.confirm_second_step(ctx, ada, "000000")
    assert not second_step.get_second_step(ctx, ada).on
    again = second_step.begin_second_step(ctx, ada, GOOD)  # a key that was never confirmed gives way
    assert again.secret != begun.secret
    assert len(second_step.confirm_second_step(ctx, ada, app(ctx, again))) == 10


def test_the_password_alone_opens_nothing(ctx, ada, enrolled):  # noqa: F811
    begun, _ = enrolled
    with pytest.raises(ConflictError) as needed:
        signing_in.sign_in(ctx, HERE, EMAIL, GOOD)
    assert needed.value.code == "code-needed"
    with pytest.raises(ConflictError) as wrong:
        signing_in.sign_in(ctx, HERE, EMAIL, GOOD, "123456")
    assert wrong.value.code == "wrong-code"
    with pytest.raises(ConflictError) as first:  # a right code does not make up for a wrong password
        signing_in.sign_in(ctx, HERE, EMAIL, "not the password", app(ctx, begun))
    assert first.value.code == "wrong-password"
    secret = signing_in.sign_in(ctx, HERE, EMAIL, GOOD, app(ctx, begun)).secret
    assert isinstance(who(ctx, session=secret), Maker)


def test_each_code_is_good_once_and_for_a_step_after_its_own(ctx, ada, enrolled):  # noqa: F811
    """RFC 6238 §5.2: at most one step of delay, and never the same code again."""
    begun, _ = enrolled
    now = app(ctx, begun)
    assert signing_in.sign_in(ctx, HERE, EMAIL, GOOD, f" {now[:3]} {now[3:]} ")
    with pytest.raises(ConflictError):
        signing_in.sign_in(ctx, HERE, EMAIL, GOOD, now)
    late = app(ctx, begun, seconds=30)
    ctx.clock.moment += timedelta(seconds=60)
    assert signing_in.sign_in(ctx, HERE, EMAIL, GOOD, late)
    for off in (-60, 30):  # two steps old, and not yet begun
        with pytest.raises(ConflictError):
            signing_in.sign_in(ctx, HERE, EMAIL, GOOD, app(ctx, begun, seconds=off))


def test_codes_for_a_bad_day_are_good_once_each_and_counted(ctx, ada, enrolled):  # noqa: F811
    _, codes = enrolled
    assert len(set(codes)) == 10 and all(len(code.replace("-", "")) == 24 for code in codes)  # 120 bits
    assert signing_in.sign_in(ctx, HERE, EMAIL, GOOD, codes[3].upper())
    with pytest.raises(ConflictError):
        signing_in.sign_in(ctx, HERE, EMAIL, GOOD, codes[3])
    assert second_step.get_second_step(ctx, ada).codes_left == 9


def test_a_new_password_does_not_get_round_the_second_step(ctx, ada, enrolled):  # noqa: F811
    from service.access import accounts

    with ctx.store.writing() as connection:
        link = accounts.make_password_link(connection, ada.account_id, ctx.clock.now())
    signing_in.choose_password(ctx, link, "quite another sentence")
    with pytest.raises(ConflictError, match="code"):
        signing_in.sign_in(ctx, HERE, EMAIL, "quite another sentence")


def test_guessing_codes_is_slowed(ctx, ada, enrolled):  # noqa: F811
    begun, _ = enrolled
    for guess in range(5):
        with pytest.raises(ConflictError):
            signing_in.sign_in(ctx, ELSEWHERE, EMAIL, GOOD, f"{guess:06}")
    with pytest.raises(TooManyError):
        signing_in.sign_in(ctx, ELSEWHERE, EMAIL, GOOD, app(ctx, begun))


def test_it_is_taken_away_with_both_steps_and_each_change_is_on_record(ctx, ada, enrolled):  # noqa: F811
    begun, _ = enrolled
    with pytest.raises(ConflictError, match="already"):
        second_step.begin_second_step(ctx, ada, GOOD)
    with pytest.raises(InvalidError, match="password"):
        second_step.end_second_step(ctx, ada, "not the password", app(ctx, begun))
    with pytest.raises(InvalidError, match="code"):
        second_step.end_second_step(ctx, ada, GOOD, "000000")
    second_step.end_second_step(ctx, ada, GOOD, app(ctx, begun))
    assert signing_in.sign_in(ctx, HERE, EMAIL, GOOD)
    with ctx.store.reading() as connection:
        told = [e.facts["what"] for e in record.walk(connection, "w1") if e.kind is EntryKind.ACCESS]
    assert told == ["opened an account", "asks for a second step", "asks for no second step"]


def test_another_maker_lets_in_who_lost_everything(ctx, ada, enrolled):  # noqa: F811
    begun, _ = enrolled
    secret = signing_in.sign_in(ctx, HERE, EMAIL, GOOD, app(ctx, begun)).secret
    row = people.open_account(ctx, "w1", "ben@oxbarrow.example", name="Ben", role=Role.MAKER, password=GOOD)
    ben = Maker("w1", row, "Ben")
    assert [person.second_step for person in people.list_people(ctx, ben)] == [True, False]
    for nobody in (Helper("w1", "h", "Hal"), Client("w1", "o-w1", "l")):
        with pytest.raises(NotAllowedError):
            second_step.drop_second_step(ctx, nobody, ada.account_id)
    with pytest.raises(NotFoundError):
        second_step.drop_second_step(ctx, Maker("w2", "m2", "Cora"), ada.account_id)
    with pytest.raises(ConflictError, match="Take your own"):
        second_step.drop_second_step(ctx, ada, ada.account_id)
    second_step.drop_second_step(ctx, ben, ada.account_id)
    assert not isinstance(who(ctx, session=secret), Maker)  # signed out everywhere
    assert signing_in.sign_in(ctx, HERE, EMAIL, GOOD)
