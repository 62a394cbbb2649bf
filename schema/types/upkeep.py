"""Whether everything is well, and work that was given up."""

from __future__ import annotations

from schema.types.made import shows
from service.rest.responses.upkeep import SignBody, WellnessBody
from service.usecases import answers


@shows(SignBody, at="The moment it is about, where there is one.")
class Sign:
    """One sign of how things are, in words."""


@shows(WellnessBody, without=("signs",))
class Wellness:
    """Every sign, and the worst level among them."""

    signs: list[Sign]


@shows(answers.GivenUp)
class GivenUpWork:
    """Work that was given up, and the number of the order it is for; a batch has none."""
