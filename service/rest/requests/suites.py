"""Runs of texts and pictures over several slats, as they are asked for."""

from __future__ import annotations

import base64
import binascii
from typing import Annotated

from pydantic import Field, StringConstraints

from artwork.lettering.field import Field as TextField
from service.orders.errors import FieldError, InvalidError
from service.rest.requests.base import Ask, Id, Key, ShortText, asked, value_of
from service.rest.requests.cutting import PlacementAsk, SuiteShownAsk
from service.usecases.suites import AcrossContent, NamesContent

_Size = Annotated[float, Field(gt=0, lt=1000, allow_inf_nan=False, description="mm")]
_Ems = Annotated[float, Field(ge=-0.2, le=1.0, allow_inf_nan=False, description="ems")]
_Table = Annotated[str, StringConstraints(max_length=2_800_000)]


class RuleAsk(Ask):
    """How a text is set, and what may give way when it is too long: spacing, then a second line, then size."""

    typeface: Annotated[Key, Field(description="see `listTypefaces`")]
    cap_height: _Size = 25.0
    least_cap_height: _Size = 15.0
    tracking: _Ems = 0.0
    least_tracking: _Ems = 0.0
    lines: Annotated[int, Field(ge=1, le=2)] = 1
    baselines: Annotated[float, Field(ge=1, le=3, description="cap heights apart")] = 1.6
    arc_radius: Annotated[
        float | None,
        Field(gt=-1e6, lt=1e6, description="of the baseline, mm; above 0 arched upwards"),
    ] = None


PlaceAsk = asked(TextField, "PlaceAsk", "A rectangle on the slat, text running along its width.")


class NamesAsk(Ask):
    """A text on every piece of a line: a typed list, or a table. As many texts, so many pieces."""

    line_id: Id
    slat_key: Key
    rule: RuleAsk
    texts: Annotated[str, Field(max_length=200_000, description="one a line")] = ""
    table: Annotated[_Table, Field(description="instead: a CSV file's bytes in base64")] = ""
    columns: Annotated[
        tuple[ShortText, ...],
        Field(
            max_length=2, description="headings of the table's columns carved, a line each; none: the first"
        ),
    ] = ()
    headed: Annotated[bool, Field(description="the table's first row holds headings")] = True
    place: Annotated[
        PlaceAsk | None,  # type: ignore[valid-type]
        Field(description="none: the roomiest place of the slat"),
    ] = None
    turn_deg: Annotated[
        float, Field(ge=-360, le=360, description="direction of reading where no place is given")
    ] = 0.0

    def value(self) -> NamesContent:
        """As the use cases take it. InvalidError."""
        try:
            table = base64.b64decode(self.table, validate=True)
        except binascii.Error:
            raise InvalidError(FieldError("table", "base64", "Send the file's bytes in base64.")) from None
        return NamesContent(
            line_id=self.line_id,
            slat_key=self.slat_key,
            rule=self.rule.model_dump(),
            texts=self.texts,
            table=table,
            columns=self.columns,
            headed=self.headed,
            place=value_of(self.place),
            turn_deg=self.turn_deg,
        )


class AcrossAsk(Ask):
    """One picture over several slats of a line."""

    makes = AcrossContent

    line_id: Id
    reading_id: Annotated[Id, Field(description="of one of the order's files, read already")]
    slats: Annotated[tuple[Key, ...], Field(min_length=2, max_length=64)]
    placement: Annotated[
        PlacementAsk | None,  # type: ignore[valid-type]
        Field(description="in the piece's frame, mm; none: as large as fits"),
    ] = None
    without_slivers: Annotated[bool, Field(description="leave out what the slats' edges cut too thin")] = (
        False
    )


class TogetherAsk(Ask):
    """Remarks of a whole list or picture that the client accepts, by their kind."""

    whole: SuiteShownAsk
    kinds: Annotated[tuple[Annotated[str, Field(max_length=100)], ...], Field(min_length=1, max_length=50)]
