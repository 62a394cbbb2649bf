"""Signing in, people, tokens and links as they are asked for."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Literal

from pydantic import Field

from service.orders.actors import Role, Scope
from service.orders.limits import LONGEST_EMAIL, LONGEST_PASSWORD
from service.rest.requests.base import Ask, Name

Secret = Annotated[str, Field(min_length=1, max_length=200)]
Password = Annotated[str, Field(max_length=LONGEST_PASSWORD)]
Address = Annotated[str, Field(max_length=LONGEST_EMAIL)]
Origin = Annotated[str, Field(pattern=r"^https?://[a-z0-9.-]{1,253}(:[0-9]{1,5})?$")]
StaffRole = Literal[Role.MAKER, Role.HELPER]


Code = Annotated[str, Field(max_length=60, description="from the app, or one of the codes for a bad day")]


class SignInAsk(Ask):
    """Address and password of an account, and a code where the account asks for one."""

    email: Address
    password: Password
    code: Code = ""


class PasswordAsk(Ask):
    """Your password once more."""

    password: Password


class ChangePasswordAsk(PasswordAsk):
    """The password there is and the one there is to be."""

    new_password: Password


class EndSessionsAsk(PasswordAsk):
    """Your password once more, and the session to end; without one, all but this end."""

    session_id: Annotated[str | None, Field(max_length=64)] = None


class CodeAsk(Ask):
    """A code."""

    code: Code


class GoToWorkshopAsk(Ask):
    """The workshop to go to, by its public key, and a code where that one asks for it."""

    workshop: Annotated[str, Field(max_length=64, description="its public key")]
    code: Code = ""


class PasswordAndCodeAsk(PasswordAsk):
    """Both steps once more."""

    code: Code


class RequirementAsk(PasswordAsk):
    """Your password once more, and whether a second step is asked of everybody."""

    required: bool


class EmailAsk(Ask):
    """The address of an account, which may or may not exist."""

    email: Address


class LostLinkAsk(Ask):
    """The address that orders were placed with, and the number of the one that is meant, where it is known."""

    email: Address
    number: Annotated[int, Field(ge=1, lt=1_000_000_000)] | None = None


class SecretAsk(Ask):
    """The secret part of a link that came by mail."""

    secret: Secret


class ChoosePasswordAsk(SecretAsk):
    """A new password, and the link that allows to set it."""

    password: Password


class InviteAsk(Ask):
    """Somebody who is to have an account at the workshop."""

    email: Address
    name: Name
    role: StaffRole = Role.HELPER


class PersonChangeAsk(Ask):
    """What to change of a person; what is left out stays."""

    name: Name | None = None
    role: StaffRole | None = None
    disabled: bool | None = None


class TokenAsk(Ask):
    """A token for a shop's own site."""

    name: Name
    scopes: Annotated[frozenset[Scope], Field(description="what the site may do")]
    expires_at: datetime | None = None
    origins: Annotated[
        tuple[Origin, ...],
        Field(
            max_length=20,
            description="of the site's pages, from which a browser may call; none: programs only",
        ),
    ] = ()
    test: Annotated[
        bool,
        Field(description="whether all it places are tests, which no maker sees, and it sees nothing else"),
    ] = False


class RenewAsk(Ask):
    """How a token is renewed."""

    overlap_hours: Annotated[
        int, Field(ge=0, le=720, description="for how long the secret it has stays good beside the new one")
    ] = 24
