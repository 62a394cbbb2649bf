"""Sessions of accounts and of clients' browsers, and passwords."""

from __future__ import annotations

from datetime import timedelta

from service.access.csrf import cookie, cookies_of
from service.access.resolve import COOKIE_CLIENT, COOKIE_SESSION, COOKIE_VISIT, Resolved
from service.access.secrets import digest
from service.access.sessions import CLIENT_LONGEST, LONGEST, Visitor
from service.orders.actors import Client, Helper, Maker, Role
from service.rest.operation import Answer, Call, Operation, tagged
from service.rest.requests.people import ChoosePasswordAsk, EmailAsk, LostLinkAsk, SecretAsk, SignInAsk
from service.rest.responses.people import OpenedLinkBody, SessionBody, WhoseBody
from service.rest.responses.shop import workshop_body
from service.rest.whence import own_address_of
from service.usecases import people, signing_in

TAG = "Signing in"


def visitor_of(call: Call) -> Visitor:
    """Where a call came from, as far as it is recorded."""
    visit = cookies_of(call.request.scope).get(COOKIE_VISIT)
    return Visitor(
        own_address_of(call.ctx, call.request),
        call.request.headers.get("user-agent", ""),
        digest(visit) if visit else "",
    )


def cookie_header(call: Call, name: str, value: str, life: timedelta) -> dict[str, str]:
    """The header that gives the caller a cookie."""
    secure = getattr(call.request.state, "secure", call.request.url.scheme == "https")
    return {"Set-Cookie": cookie(name, value, life, secure=secure)}


def _sign_in(call: Call) -> Answer[SessionBody]:
    ask = call.ask
    begun = signing_in.sign_in(call.ctx, visitor_of(call), ask.email, ask.password, ask.code)
    return Answer(
        session_begun(call, begun), headers=cookie_header(call, COOKIE_SESSION, begun.secret, LONGEST)
    )


def session_begun(call: Call, begun: signing_in.SignedIn) -> SessionBody:
    """Who the session that has just begun is of."""
    account = begun.account
    workshop = workshop_body(people.own_workshop(call.ctx, account.workshop_id))
    known = (account.role, account.name, account.email, workshop)
    return SessionBody(*known, None, (), begun.second_step_due, begun.several)


def _sign_out(call: Call) -> Answer[None]:
    secret = cookies_of(call.request.scope).get(COOKIE_SESSION)
    if secret:
        signing_in.sign_out(call.ctx, secret)
    return Answer(headers=cookie_header(call, COOKIE_SESSION, "", timedelta()))


def _who(call: Call) -> Answer[SessionBody]:
    return Answer(_session_body(call, call.resolved))


def _session_body(call: Call, resolved: Resolved) -> SessionBody:
    actor = resolved.actor or resolved.unready
    if actor is None:
        return SessionBody(Role.VISITOR, "", "", None, None, resolved.orders)
    return SessionBody(
        role=actor.role,
        name=actor.name if isinstance(actor, Maker | Helper) else "",
        email=resolved.email or "",
        workshop=workshop_body(people.own_workshop(call.ctx, actor.workshop_id)),
        order_id=actor.order_id if isinstance(actor, Client) else None,
        orders=resolved.orders,
        second_step_due=resolved.unready is not None,
    )


def _open_link(call: Call) -> Answer[OpenedLinkBody]:
    previous = cookies_of(call.request.scope).get(COOKIE_CLIENT)
    opened = signing_in.open_link(call.ctx, visitor_of(call), call.ask.secret, previous)
    headers = cookie_header(call, COOKIE_CLIENT, opened.secret, CLIENT_LONGEST)
    return Answer(OpenedLinkBody(opened.order_id), headers=headers)


def _ask_for_link(call: Call) -> Answer[None]:
    signing_in.ask_for_link(call.ctx, visitor_of(call), call.ask.secret)
    return Answer()


def _mail_lost_links(call: Call) -> Answer[None]:
    signing_in.mail_lost_links(call.ctx, call.actor, call.ask.email, call.ask.number)
    return Answer()


def _ask_for_password(call: Call) -> Answer[None]:
    signing_in.ask_for_password(call.ctx, visitor_of(call), call.ask.email)
    return Answer()


def _whose_password(call: Call) -> Answer[WhoseBody]:
    account = signing_in.whose_password(call.ctx, call.ask.secret)
    return Answer(WhoseBody(account.name, account.email))


def _choose_password(call: Call) -> Answer[None]:
    signing_in.choose_password(call.ctx, call.ask.secret, call.ask.password)
    return Answer()


OPERATIONS = tagged(
    TAG,
    Operation(
        "POST /session",
        "signIn",
        "Sign in with an account's address and password.",
        _sign_in,
        ask=SignInAsk,
        problems=("wrong-password", "code-needed", "wrong-code"),
        more="The answer sets the session's cookie. Five wrong tries at one account within a quarter of an "
        "hour have to wait. Programs use a token instead.",
        open=True,
    ),
    Operation("GET /session", "getSession", "Say who the request comes from.", _who, open=True),
    Operation(
        "DELETE /session",
        "signOut",
        "Sign out: the session ends, not only its cookie.",
        _sign_out,
        status=204,
        open=True,
    ),
    Operation(
        "POST /client-session",
        "openLink",
        "Open a client's link in a browser.",
        _open_link,
        ask=SecretAsk,
        more="Sets a cookie that opens this order, and those opened before, to this browser. Programs send "
        "the link's secret as a bearer token instead. Name the order in `Slatproof-Order` where a browser "
        "has several.",
        open=True,
    ),
    Operation(
        "POST /client-links",
        "askForLink",
        "Have a new link mailed to the client whose link has expired.",
        _ask_for_link,
        ask=SecretAsk,
        status=202,
        more="The answer is the same whether there was such a link or not. It goes to the order's address.",
        open=True,
    ),
    Operation(
        "POST /workshops/{workshop}/lost-links",
        "mailLostLinks",
        "Have new links mailed to the orders that were placed from an address.",
        _mail_lost_links,
        ask=LostLinkAsk,
        status=202,
        public=True,
        more="The answer is the same whether there are such orders or not. Mail goes to the orders' own address.",
    ),
    Operation(
        "POST /password-links",
        "askForPassword",
        "Have a link mailed with which a password can be set.",
        _ask_for_password,
        ask=EmailAsk,
        status=202,
        more="The answer is the same whether or not there is such an account.",
        open=True,
    ),
    Operation(
        "POST /password-links/owner",
        "whosePassword",
        "Say whose password a link may set.",
        _whose_password,
        ask=SecretAsk,
        open=True,
    ),
    Operation(
        "POST /passwords",
        "choosePassword",
        "Set the password that a link is for.",
        _choose_password,
        ask=ChoosePasswordAsk,
        status=204,
        more="The link works once. Every session of the account ends.",
        open=True,
    ),
)
