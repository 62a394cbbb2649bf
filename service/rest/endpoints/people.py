"""The people of a workshop, its sites' tokens, its clients' links."""

from __future__ import annotations

from service.access.tokens import NewToken
from service.rest.operation import Answer, Operation
from service.rest.requests.people import InviteAsk, PersonChangeAsk, RenewAsk, TokenAsk
from service.rest.responses.people import (
    LinksBody,
    NewTokenBody,
    PeopleBody,
    PersonBody,
    RevokedBody,
    TokensBody,
    TokenUsesBody,
    link_body,
    person_body,
    token_body,
    token_use_body,
)
from service.rest.use import Does, items, nothing, one
from service.usecases import people

TAG = "People and tokens"


def _new_token(made: NewToken) -> Answer:
    return Answer(NewTokenBody(made.id, made.secret), headers={"Cache-Control": "no-store"})


_LINKS = "/orders/{order}/links"

OPERATIONS = (
    Operation(
        "GET",
        "/people",
        "listPeople",
        "List the people of the workshop.",
        TAG,
        Does(people.list_people, items(PeopleBody, person_body)),
        gives=PeopleBody,
    ),
    Operation(
        "POST",
        "/people",
        "invitePerson",
        "Give somebody an account; they are mailed a link to set a password.",
        TAG,
        Does(people.invite, one(person_body)),
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
        Does(people.change_person, one(person_body)),
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
        Does(people.list_site_tokens, items(TokensBody, token_body)),
        gives=TokensBody,
    ),
    Operation(
        "POST",
        "/tokens",
        "makeToken",
        "Make a token for a site.",
        TAG,
        Does(people.make_site_token, _new_token),
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
        Does(people.revoke_site_token, nothing),
        status=204,
    ),
    Operation(
        "POST",
        "/tokens/{token}/secrets",
        "renewToken",
        "Give a token a new secret; the one it has stays good for a while.",
        TAG,
        Does(people.renew_site_token, _new_token),
        ask=RenewAsk,
        gives=NewTokenBody,
        status=201,
        more="The secret is shown this once. `listTokenUses` says whether the one before is still in use.",
    ),
    Operation(
        "GET",
        "/tokens/{token}/uses",
        "listTokenUses",
        "List the days on which a token was used.",
        TAG,
        Does(people.list_token_uses, items(TokenUsesBody, token_use_body)),
        gives=TokenUsesBody,
    ),
    Operation(
        "GET",
        _LINKS,
        "listLinks",
        "List the links of an order's client.",
        TAG,
        Does(people.list_client_links, items(LinksBody, link_body)),
        gives=LinksBody,
    ),
    Operation(
        "POST",
        _LINKS,
        "mailLink",
        "Mail the client a new link.",
        TAG,
        Does(people.mail_client_link, nothing),
        graph="",
        status=202,
    ),
    Operation(
        "DELETE",
        _LINKS,
        "revokeLinks",
        "Revoke every link of an order: whoever holds one is shut out.",
        TAG,
        Does(people.revoke_client_links, one(RevokedBody)),
        graph="",
        gives=RevokedBody,
    ),
    Operation(
        "DELETE",
        _LINKS + "/{link}",
        "revokeLink",
        "Revoke one link.",
        TAG,
        Does(people.revoke_client_links, nothing),
        status=204,
    ),
)
