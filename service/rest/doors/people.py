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
from service.rest.use import Does
from service.usecases import people

TAG = "People and tokens"


def _person(person: people.Person) -> Answer:
    return Answer(person_body(person))


def _nothing(_done: object) -> Answer:
    return Answer()


def _revoked(count: int) -> Answer:
    return Answer(RevokedBody(count))


def _people(call: Call) -> Answer:
    rows = people.list_people(call.ctx, call.actor)
    return Answer(PeopleBody(tuple(person_body(row) for row in rows)))


def _tokens(call: Call) -> Answer:
    return Answer(TokensBody(tuple(token_body(row) for row in people.list_site_tokens(call.ctx, call.actor))))


def _make_token(call: Call) -> Answer:
    ask = call.ask
    made = people.make_site_token(call.ctx, call.actor, ask.name, ask.scopes, ask.expires_at)
    return Answer(NewTokenBody(made.id, made.secret), headers={"Cache-Control": "no-store"})


def _links(call: Call) -> Answer:
    rows = people.list_client_links(call.ctx, call.actor, call.path["order"])
    return Answer(LinksBody(tuple(link_body(row) for row in rows)))


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
        Does(people.invite, _person),
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
        Does(people.change_person, _person),
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
        "DELETE",
        "/tokens/{token}",
        "revokeToken",
        "End a token at once.",
        TAG,
        Does(people.revoke_site_token, _nothing),
        status=204,
    ),
    Operation(
        "GET", _LINKS, "listLinks", "List the links of an order's client.", TAG, _links, gives=LinksBody
    ),
    Operation(
        "POST",
        _LINKS,
        "mailLink",
        "Mail the client a new link.",
        TAG,
        Does(people.mail_client_link, _nothing),
        graph="",
        status=202,
    ),
    Operation(
        "DELETE",
        _LINKS,
        "revokeLinks",
        "Revoke every link of an order: whoever holds one is shut out.",
        TAG,
        Does(people.revoke_client_links, _revoked),
        graph="",
        gives=RevokedBody,
    ),
    Operation(
        "DELETE",
        _LINKS + "/{link}",
        "revokeLink",
        "Revoke one link.",
        TAG,
        Does(people.revoke_client_links, _nothing),
        status=204,
    ),
)
