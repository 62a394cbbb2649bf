"""The second step when signing in."""

from __future__ import annotations

from dataclasses import dataclass

from service.access.csrf import cookies_of
from service.access.resolve import COOKIE_SESSION
from service.access.second_factor import Enrolment
from service.access.sessions import LONGEST
from service.rest.endpoints.signing_in import cookie_header, visitor_of
from service.rest.operation import Answer, Call, Operation, tagged
from service.rest.requests.people import CodeAsk, PasswordAndCodeAsk, PasswordAsk, RequirementAsk
from service.rest.use import Does, nothing, one
from service.usecases import second_step
from service.usecases.second_step import AskedBy

TAG = "Signing in"
_NEVER_KEPT = {"Cache-Control": "no-store"}


@dataclass(frozen=True)
class SecondStepBody:
    """Whether a code is asked for when you sign in, how many codes for a bad day are left, and who asks a second
    step of everybody.
    """

    on: bool
    codes_left: int
    asked_by: AskedBy


@dataclass(frozen=True)
class EnrolmentBody:
    """A key for your app, shown this once: `uri` as a square code, `secret` for typing it in."""

    secret: str
    uri: str


@dataclass(frozen=True)
class RecoveryCodesBody:
    """Codes for the day the app is gone, shown this once; each signs you in once."""

    codes: tuple[str, ...]


def _body(found: second_step.SecondStep) -> SecondStepBody:
    return SecondStepBody(**vars(found))


def _enrolment(made: Enrolment) -> Answer[EnrolmentBody]:
    return Answer(EnrolmentBody(made.secret, made.uri), headers=_NEVER_KEPT)


def _confirm(call: Call) -> Answer[RecoveryCodesBody]:
    codes = second_step.confirm_second_step(call.ctx, call.actor, call.ask.code)
    return Answer(RecoveryCodesBody(codes), headers=_NEVER_KEPT | _another_secret(call))


def _another_secret(call: Call) -> dict[str, str]:
    """What opens more than before opens it under a secret that no earlier page has seen."""
    if call.resolved.unready is None:
        return {}
    old = cookies_of(call.request.scope).get(COOKIE_SESSION, "")
    secret = second_step.go_on_with_second_step(call.ctx, call.actor, visitor_of(call), old)
    return cookie_header(call, COOKIE_SESSION, secret, LONGEST)


OPERATIONS = tagged(
    TAG,
    Operation(
        "GET /second-step",
        "getSecondStep",
        "Say whether a code is asked for when you sign in.",
        Does(second_step.get_second_step, one(_body)),
        unready=True,
    ),
    Operation(
        "POST /second-step/requirement",
        "requireSecondStep",
        "Ask a second step of everybody of the workshop, or leave it to each.",
        Does(second_step.require_second_step, one(_body)),
        ask=RequirementAsk,
        problems=("second-step-off",),
        more="Whoever has none stays signed in, and can do nothing but set it up. API tokens and clients' links are as "
        "before.",
    ),
    Operation(
        "POST /second-step",
        "beginSecondStep",
        "Make a key for your app.",
        Does(second_step.begin_second_step, _enrolment),
        ask=PasswordAsk,
        status=201,
        unready=True,
        problems=("second-step-on",),
        more="Nothing is asked for until `confirmSecondStep` has seen a code. Codes are those of RFC 6238: SHA-1, "
        "six digits, 30 s.",
    ),
    Operation(
        "POST /second-step/confirmation",
        "confirmSecondStep",
        "Show the first code: from now on one is asked for.",
        _confirm,
        ask=CodeAsk,
        unready=True,
        more="Where it was due, the answer sets another cookie, which opens everything else from now on.",
    ),
    Operation(
        "POST /second-step/removal",
        "endSecondStep",
        "Ask for no code any more.",
        Does(second_step.end_second_step, nothing),
        ask=PasswordAndCodeAsk,
        status=204,
    ),
    Operation(
        "DELETE /people/{person}/second-step",
        "dropSecondStep",
        "Let somebody in without a code who lost app and codes.",
        Does(second_step.drop_second_step, nothing),
        status=204,
        problems=("yourself",),
        more="Make sure that it is them. Their sessions end; the password is asked for as before.",
    ),
)
