"""What shop sites ask for."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from service.orders.limits import LONGEST_SITE_NUMBER, MOST_VERDICTS
from service.orders.site import Payment
from service.rest.requests.base import Ask, Id
from service.usecases.signed_addresses import LONGEST_SECONDS


class PaymentAsk(Ask):
    """Whether an order is paid."""

    state: Payment
    reference: Annotated[
        str, Field(max_length=LONGEST_SITE_NUMBER, description="what the site finds the payment by")
    ] = ""


class AddressesAsk(Ask):
    """Addresses of files of an order that are to open by themselves."""

    urls: Annotated[
        tuple[Annotated[str, Field(max_length=500)], ...],
        Field(min_length=1, max_length=100, description="as the API gave them, parameters included"),
    ]
    seconds: Annotated[int, Field(ge=10, le=LONGEST_SECONDS, description="for how long they open")] = 600


class VerdictsQuery(Ask):
    """Whose verdicts."""

    order: Annotated[
        tuple[Id, ...],
        Field(max_length=MOST_VERDICTS, description="ids of orders, all of whose carvings are meant"),
    ] = ()
    carving: Annotated[tuple[Id, ...], Field(max_length=MOST_VERDICTS, description="ids of carvings")] = ()
