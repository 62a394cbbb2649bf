"""What people call the woods."""

from __future__ import annotations

from service.language.chosen import L_

WOODS = {
    "western-redcedar": L_("western red cedar"),
    "redwood": L_("redwood"),
    "eastern-white-pine": L_("eastern white pine"),
    "white-oak": L_("white oak"),
    "mahogany": L_("mahogany"),
    "sapele": L_("sapele"),
    "sugar-maple": L_("sugar maple"),
}


def wood_words(species: str) -> str:
    """The wood of that key."""
    return str(WOODS.get(species, species.replace("-", " ")))
