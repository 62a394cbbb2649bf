"""One's own account: where it is signed in, and its password."""

from __future__ import annotations

from dataclasses import dataclass

from service.access.csrf import cookies_of
from service.access.resolve import COOKIE_SESSION
from service.access.sessions import LONGEST
from service.rest.endpoints.signing_in import cookie_header, session_begun, visitor_of
from service.rest.operation import Answer, Call, Operation, tagged
from service.rest.requests.people import ChangePasswordAsk, EndSessionsAsk, GoToWorkshopAsk
from service.rest.responses.people import (
    OwnWorkshopsBody,
    SessionBody,
    SessionsBody,
    own_workshop_body,
    session_row_body,
)
from service.rest.use import Does, items
from service.usecases import own_account, own_workshops

TAG = "Signing in"


@dataclass(frozen=True)
class EndedBody:
    """How many sessions ended."""

    ended: int


def _sessions(call: Call) -> Answer[SessionsBody]:
    rows = own_account.list_my_sessions(call.ctx, call.actor)
    return Answer(SessionsBody(tuple(session_row_body(row, call.resolved.session_id) for row in rows)))


def _end_sessions(call: Call) -> Answer[EndedBody]:
    ask, here = call.ask, call.resolved.session_id
    ended = own_account.end_my_sessions(call.ctx, call.actor, ask.password, ask.session_id, here=here)
    return Answer(EndedBody(ended))


def _change_password(call: Call) -> Answer[None]:
    ask, here = call.ask, call.resolved.session_id
    own_account.change_my_password(call.ctx, call.actor, ask.password, ask.new_password, here=here)
    return Answer()


def _go_to_workshop(call: Call) -> Answer[SessionBody]:
    session = cookies_of(call.request.scope).get(COOKIE_SESSION, "")
    ask, visitor = call.ask, visitor_of(call)
    begun = own_workshops.go_to_workshop(
        call.ctx, call.actor, visitor, session, key=ask.workshop, code=ask.code
    )
    return Answer(
        session_begun(call, begun), headers=cookie_header(call, COOKIE_SESSION, begun.secret, LONGEST)
    )


OPERATIONS = tagged(
    TAG,
    Operation(
        "GET /session/workshops",
        "listMyWorkshops",
        "List the workshops that you work in.",
        Does(own_workshops.list_my_workshops, items(OwnWorkshopsBody, own_workshop_body)),
        unready=True,
    ),
    Operation(
        "POST /session/workshop",
        "goToWorkshop",
        "Go on in another of your workshops.",
        _go_to_workshop,
        ask=GoToWorkshopAsk,
        unready=True,
        problems=("code-needed", "wrong-code"),
        more="This session ends; the answer sets another one's cookie. A workshop in which you have a second step "
        "asks for its code.",
    ),
    Operation("GET /sessions", "listSessions", "List where you are signed in.", _sessions),
    Operation(
        "POST /sessions/removal",
        "endSessions",
        "Sign out elsewhere: there, or everywhere but here.",
        _end_sessions,
        ask=EndSessionsAsk,
        more="Whoever finds a browser open cannot shut its owner out: the password is asked for once more.",
    ),
    Operation(
        "POST /password",
        "changePassword",
        "Change your password.",
        _change_password,
        ask=ChangePasswordAsk,
        status=204,
        more="Every other session of the account ends, and so does every link to set a password.",
    ),
)
