"""What every model of a request shares."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field, StringConstraints

Id = Annotated[str, StringConstraints(pattern=r"^[a-z2-7]{26}$")]
Digest = Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{64}$")]
Key = Annotated[str, StringConstraints(pattern=r"^[a-z0-9][a-z0-9-]{0,62}$")]
ShortText = Annotated[str, StringConstraints(max_length=200)]
LongText = Annotated[str, StringConstraints(max_length=4000)]
Reason = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=4000)]
Millimetres = Annotated[float, Field(gt=-1e6, lt=1e6, allow_inf_nan=False)]


class Ask(BaseModel):
    """A body or query; unknown fields are refused, so that a misspelt one does not go unnoticed."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class PageQuery(Ask):
    """Which page of a list."""

    first: Annotated[int, Field(ge=1, le=100, description="how many")] = 50
    after: Annotated[str | None, Field(max_length=500, description="`next` of the page before")] = None
