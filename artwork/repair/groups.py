"""Islands that come in twos and threes, eyes above all: a face without one of them is another face."""

from __future__ import annotations

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from artwork.axis.anatomy import Anatomy
from artwork.repair.net import Ints

SEEN = 0.44
"""An eye tells details of 1′ apart (docs/sources.md, 4), which is so many mm at the 1.5 m from which furniture is
looked at: islands narrower than this are no eyes of a face."""
ALIKE, NEAR = 3.0, 5.0
"""Two islands belong together where the longer one is no longer than this times the other, and they are no farther
apart than this times its length (common practice, no source)."""
MOST = 6
"""More of them than this are a pattern: of that no single one is missed."""
LEAST_KEPT = 2 / 3
"""At least this share of each group stays: of two both."""


def groups(anatomy: Anatomy) -> Ints:
    """Shape (lands,): the number of the group that each land is in, −1 for none. The anatomy is in mm."""
    place, span = anatomy.lands.peak_place, anatomy.land_span
    islands = np.flatnonzero((anatomy.land_owner >= 0) & (2 * anatomy.lands.peak >= SEEN))
    part, long, at = anatomy.land_owner[islands], span[islands], place[islands]
    longer, shorter = np.maximum(long[:, None], long), np.minimum(long[:, None], long)
    apart = np.hypot(*np.moveaxis(at[:, None] - at, 2, 0))
    beside = (part[:, None] == part) & (longer <= ALIKE * shorter) & (apart <= NEAR * longer)
    found = np.full(len(span), -1)
    if len(islands):
        label = connected_components(coo_array(beside), directed=False)[1]
        many = np.bincount(label)[label]
        found[islands] = np.where((many > 1) & (many <= MOST), label, -1)
    return found
