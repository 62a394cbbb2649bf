"""How items came out, as it is said."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from service.orders.outcomes import LONGEST_WORDS, Outcome
from service.rest.requests.base import Ask, Millimetres


class OutcomeAsk(Ask):
    """How one item came out."""

    outcome: Annotated[Outcome, Field(description="in a word")]
    x: Annotated[Millimetres | None, Field(description="where it went wrong, slat mm")] = None
    y: Annotated[Millimetres | None, Field(description="where it went wrong, slat mm")] = None
    words: Annotated[str, Field(max_length=LONGEST_WORDS, description="what else happened")] = ""
    minutes: Annotated[
        float | None, Field(gt=0, le=1440, allow_inf_nan=False, description="of carving, measured")
    ] = None


class TimeFactorAsk(Ask):
    """The factor of times that was shown."""

    time_scale: Annotated[float, Field(gt=0, le=100, allow_inf_nan=False, description="as it was shown")]
