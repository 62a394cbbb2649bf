"""The test board: a shop cuts and measures it, and finds its own allowances (docs/test-board.md).

:mod:`~artwork.testboard.design` lays it out, :mod:`~artwork.testboard.readings` says what is read where,
:mod:`~artwork.testboard.fitting` turns readings into figures with intervals, and
:mod:`~artwork.testboard.proposing` turns those into allowances.
"""
