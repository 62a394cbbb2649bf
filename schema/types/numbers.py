"""A shop's own numbers: test boards, what their readings say, and how items came out."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import strawberry

from schema.types.judged import Counted, counts
from schema.types.made import shows
from service.orders import outcomes
from service.rest.responses.boards import TestBoardBody, TestBoardSheetBody
from service.rest.responses.outcomes import OutcomeBody
from service.usecases import computing_boards, test_boards


@strawberry.type
class TestBoardReading:
    """One reading as it was taken."""

    key: str = strawberry.field(description="Of the reading.")
    value: float = strawberry.field(description="In mm, or 1 and 0 for a tap.")


@strawberry.type
class AcceptedFigure:
    """One of the workshop's own figures that a test board changed."""

    name: str = strawberry.field(description="Of the figure.")
    before: float = strawberry.field(description="The value until then, in the figure's own unit.")
    after: float = strawberry.field(description="The value from then on, in the same unit.")


@shows(TestBoardBody)
class TestBoard:
    """One test board; `acceptedAs` is the revision of the workshop's settings that it is the evidence of."""

    @strawberry.field
    def readings(self: Any) -> list[TestBoardReading]:
        """What was read off it."""
        return [TestBoardReading(key=key, value=value) for key, value in self.readings.items()]

    @strawberry.field
    def accepted(self: Any) -> list[AcceptedFigure] | None:
        """What was changed; null before it is accepted."""
        taken: Mapping[str, Any] | None = self.accepted
        if taken is None:
            return None
        return [
            AcceptedFigure(name=name, before=figure.before, after=figure.after)
            for name, figure in taken.items()
        ]


@shows(computing_boards.BoardReading, without=("box",))
class TestBoardSlot:
    """One reading that can be taken of a board."""

    @strawberry.field
    def box(self: Any) -> list[float]:
        """Where it lies: least x, least y, greatest x, greatest y, mm."""
        return list(self.box)


@shows(TestBoardSheetBody)
class TestBoardSheet:
    """A board, what is done with it, and every reading that can be taken, in the order of work."""


@shows(computing_boards.FittedFigure)
class FittedFigure:
    """One of the shop's figures."""


@shows(computing_boards.MissingFigure)
class MissingFigure:
    """A figure that the readings do not give."""


@shows(computing_boards.OddReading)
class OddReading:
    """A reading that the others contradict."""


@shows(computing_boards.ProposedChange)
class ProposedChange:
    """One allowance or figure of the bit."""


@shows(computing_boards.FittedBoard)
class FittedBoard:
    """All that the readings of a board say."""


@shows(test_boards.ProposalEffects)
class ProposalEffects:
    """What a proposal would change for art that came lately."""


@shows(outcomes.Predicted)
class Predicted:
    """What the checks and the estimate said of an item."""


@shows(OutcomeBody)
class ItemOutcome:
    """How one item came out, beside what was predicted of it."""


@shows(outcomes.OutcomeGroup)
class OutcomeGroup:
    """Items alike, and how many of them went wrong in the way that belongs to them."""


@shows(outcomes.TimeFactor)
class TimeFactor:
    """Minutes measured over minutes told."""


@shows(outcomes.Experience)
class Experience:
    """All that outcomes say."""

    @strawberry.field
    def counts(self: Any) -> list[Counted]:
        """How many items came out how."""
        return counts(self.counts)
