"""The people of a workshop, its sites' tokens, its clients' links."""

from __future__ import annotations

from service.rest.asks.people import InviteAsk, PersonChangeAsk, TokenAsk
from service.rest.bodies.people import (
    LinksBody,
    NewTokenBody,
    PeopleBody,
    PersonBody,
    RevokedBody,
    TokensBody,
    link_body,
    person_body,
    token_body,
)
from service.rest.operation import Answer, Call, Operation
from service.usecases import people

TAG = "People and tokens"


def _people(call: Call) -> Answer:
    rows = people.list_people(call.ctx, call.actor)
    return Answer(PeopleBody(tuple(person_body(row) for row in rows)))


def _invite(call: Call) -> Answer:
    ask = call.ask
    return Answer(person_body(people.invite(call.ctx, call.actor, ask.email, ask.name, ask.role)))


def _change(call: Call) -> Answer:
    ask = call.ask
    person = people.change_person(
        call.ctx, call.actor, call.path["person"], name=ask.name, role=ask.role, disabled=ask.disabled
    )
    return Answer(person_body(person))


def _tokens(call: Call) -> Answer:
    return Answer(TokensBody(tuple(token_body(row) for row in people.list_site_tokens(call.ctx, call.actor))))


def _make_token(call: Call) -> Answer:
    ask = call.ask
    made = people.make_site_token(call.ctx, call.actor, ask.name, ask.scopes, ask.expires_at)
    return Answer(NewTokenBody(made.id, made.secret), headers={"Cache-Control": "no-store"})


def _revoke_token(call: Call) -> Answer:
    people.revoke_site_token(call.ctx, call.actor, call.path["token"])
    return Answer()


def _links(call: Call) -> Answer:
    rows = people.list_client_links(call.ctx, call.actor, call.path["order"])
    return Answer(LinksBody(tuple(link_body(row) for row in rows)))


def _mail_link(call: Call) -> Answer:
    people.mail_client_link(call.ctx, call.actor, call.path["order"])
    return Answer()


def _revoke_links(call: Call) -> Answer:
    return Answer(RevokedBody(people.revoke_client_links(call.ctx, call.actor, call.path["order"])))


def _revoke_link(call: Call) -> Answer:
    people.revoke_client_links(call.ctx, call.actor, call.path["order"], call.path["link"])
    return Answer()


_LINKS = "/orders/{order}/links"

OPERATIONS = (
    Operation(
        "GET", "/people", "listPeople", "List the people of the workshop.", TAG, _people, gives=PeopleBody
    ),
    Operation(
        "POST",
        "/people",
        "invitePerson",
        "Give somebody an account; they are mailed a link to set a password.",
        TAG,
        _invite,
        ask=InviteAsk,
        gives=PersonBody,
        status=201,
        problems=("known-address",),
    ),
    Operation(
        "PATCH",
        "/people/{person}",
        "changePerson",
        "Change somebody's name or role, shut them out or let them in.",
        TAG,
        _change,
        ask=PersonChangeAsk,
        gives=PersonBody,
        problems=("last-maker", "yourself"),
        more="Shutting somebody out ends their sessions at once.",
    ),
    Operation(
        "GET",
        "/tokens",
        "listTokens",
        "List the tokens of the workshop's sites.",
        TAG,
        _tokens,
        gives=TokensBody,
    ),
    Operation(
        "POST",
        "/tokens",
        "makeToken",
        "Make a token for a site.",
        TAG,
        _make_token,
        ask=TokenAsk,
        gives=NewTokenBody,
        status=201,
        more="The secret is shown this once.",
    ),
    Operation(
        "DELETE", "/tokens/{token}", "revokeToken", "End a token at once.", TAG, _revoke_token, status=204
    ),
    Operation(
        "GET", _LINKS, "listLinks", "List the links of an order's client.", TAG, _links, gives=LinksBody
    ),
    Operation("POST", _LINKS, "mailLink", "Mail the client a new link.", TAG, _mail_link, status=202),
    Operation(
        "DELETE",
        _LINKS,
        "revokeLinks",
        "Revoke every link of an order: whoever holds one is shut out.",
        TAG,
        _revoke_links,
        gives=RevokedBody,
    ),
    Operation("DELETE", _LINKS + "/{link}", "revokeLink", "Revoke one link.", TAG, _revoke_link, status=204),
)
