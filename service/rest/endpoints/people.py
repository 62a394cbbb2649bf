"""The people of a workshop, its sites' tokens, its clients' links."""

from __future__ import annotations

from service.access.tokens import NewToken
from service.rest.operation import Answer, Operation, tagged
from service.rest.requests.people import InviteAsk, PersonChangeAsk, RenewAsk, TokenAsk
from service.rest.responses.people import (
    LinksBody,
    NewTokenBody,
    PeopleBody,
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


def _new_token(made: NewToken) -> Answer[NewTokenBody]:
    return Answer(NewTokenBody(made.id, made.secret), headers={"Cache-Control": "no-store"})


OPERATIONS = tagged(
    TAG,
    Operation(
        "GET /people",
        "listPeople",
        "List the people of the workshop.",
        Does(people.list_people, items(PeopleBody, person_body)),
    ),
    Operation(
        "POST /people",
        "invitePerson",
        "Give somebody an account; they are mailed a link to set a password.",
        Does(people.invite, one(person_body)),
        ask=InviteAsk,
        status=201,
        problems=("known-address",),
    ),
    Operation(
        "PATCH /people/{person}",
        "changePerson",
        "Change somebody's name or role, shut them out or let them in.",
        Does(people.change_person, one(person_body)),
        ask=PersonChangeAsk,
        problems=("last-maker", "yourself"),
        more="Shutting somebody out ends their sessions at once.",
    ),
    Operation(
        "GET /tokens",
        "listTokens",
        "List the tokens of the workshop's sites.",
        Does(people.list_site_tokens, items(TokensBody, token_body)),
    ),
    Operation(
        "POST /tokens",
        "makeToken",
        "Make a token for a site.",
        Does(people.make_site_token, _new_token),
        ask=TokenAsk,
        status=201,
        more="The secret is shown this once.",
    ),
    Operation(
        "DELETE /tokens/{token}",
        "revokeToken",
        "End a token at once.",
        Does(people.revoke_site_token, nothing),
        status=204,
    ),
    Operation(
        "POST /tokens/{token}/secrets",
        "renewToken",
        "Give a token a new secret; the one it has stays good for a while.",
        Does(people.renew_site_token, _new_token),
        ask=RenewAsk,
        status=201,
        more="The secret is shown this once. `listTokenUses` says whether the one before is still in use.",
    ),
    Operation(
        "GET /tokens/{token}/uses",
        "listTokenUses",
        "List the days on which a token was used.",
        Does(people.list_token_uses, items(TokenUsesBody, token_use_body)),
    ),
    Operation(
        "GET /orders/{order}/links",
        "listLinks",
        "List the links of an order's client.",
        Does(people.list_client_links, items(LinksBody, link_body)),
    ),
    Operation(
        "POST /orders/{order}/links",
        "mailLink",
        "Mail the client a new link.",
        Does(people.mail_client_link, nothing),
        graph="",
        status=202,
    ),
    Operation(
        "DELETE /orders/{order}/links",
        "revokeLinks",
        "Revoke every link of an order: whoever holds one is shut out.",
        Does(people.revoke_client_links, one(RevokedBody)),
        graph="",
    ),
    Operation(
        "DELETE /orders/{order}/links/{link}",
        "revokeLink",
        "Revoke one link.",
        Does(people.revoke_client_links, nothing),
        status=204,
    ),
)
