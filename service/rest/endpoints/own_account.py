"""One's own account: where it is signed in, and its password."""

from __future__ import annotations

from dataclasses import dataclass

from service.rest.operation import Answer, Call, Operation
from service.rest.requests.people import ChangePasswordAsk, EndSessionsAsk
from service.rest.responses.people import SessionsBody, session_row_body
from service.usecases import own_account

TAG = "Signing in"


@dataclass(frozen=True)
class EndedBody:
    """How many sessions ended."""

    ended: int


def _sessions(call: Call) -> Answer:
    rows = own_account.list_my_sessions(call.ctx, call.actor)
    return Answer(SessionsBody(tuple(session_row_body(row, call.resolved.session_id) for row in rows)))


def _end_sessions(call: Call) -> Answer:
    ask, here = call.ask, call.resolved.session_id
    ended = own_account.end_my_sessions(call.ctx, call.actor, ask.password, ask.session_id, here=here)
    return Answer(EndedBody(ended))


def _change_password(call: Call) -> Answer:
    ask, here = call.ask, call.resolved.session_id
    own_account.change_my_password(call.ctx, call.actor, ask.password, ask.new_password, here=here)
    return Answer()


OPERATIONS = (
    Operation(
        "GET",
        "/sessions",
        "listSessions",
        "List where you are signed in.",
        TAG,
        _sessions,
        gives=SessionsBody,
    ),
    Operation(
        "POST",
        "/sessions/removal",
        "endSessions",
        "Sign out elsewhere: there, or everywhere but here.",
        TAG,
        _end_sessions,
        ask=EndSessionsAsk,
        gives=EndedBody,
        problems=("too-many",),
        more="Whoever finds a browser open cannot shut its owner out: the password is asked for once more.",
    ),
    Operation(
        "POST",
        "/password",
        "changePassword",
        "Change your password.",
        TAG,
        _change_password,
        ask=ChangePasswordAsk,
        status=204,
        problems=("too-many",),
        more="Every other session of the account ends, and so does every link to set a password.",
    ),
)
