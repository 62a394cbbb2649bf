"""What shop sites ask for."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from service.orders.limits import LONGEST_SITE_NUMBER, MOST_VERDICTS
from service.orders.site import Payment
from service.rest.requests.base import Ask, Id


class PaymentAsk(Ask):
    """Whether an order is paid."""

    state: Payment
    reference: Annotated[
        str, Field(max_length=LONGEST_SITE_NUMBER, description="what the site finds the payment by")
    ] = ""


class VerdictsQuery(Ask):
    """Whose verdicts."""

    order: Annotated[
        tuple[Id, ...],
        Field(max_length=MOST_VERDICTS, description="ids of orders, all of whose carvings are meant"),
    ] = ()
    carving: Annotated[tuple[Id, ...], Field(max_length=MOST_VERDICTS, description="ids of carvings")] = ()
