"""How long and how many: each limit that more than one room names, once."""

from __future__ import annotations

LONGEST_NAME = 120
"""Characters of a name: of a person, a workshop, a model, a slat."""
LONGEST_NOTE = 4_000
"""Characters of what somebody writes: a note, a reason."""
LONGEST_EMAIL = 254
"""RFC 5321 §4.5.3.1.3, less the angle brackets."""
LONGEST_PLACE = 200
"""Characters of where a workshop is, as clients read it."""
LONGEST_PHONE = 40
LONGEST_WORDS = 1_000
"""Characters of what a workshop says of a model."""
LONGEST_ADDRESS = 400
"""Characters of where an order is delivered."""
FARTHEST_SHIFT = 50.0
"""Of the art of one board from where it was signed, mm."""
FARTHEST = 50_000.0
"""Of a journey to a site and back, km."""
LONGEST_PASSWORD = 256
MOST_LINES = 50
MOST_PIECES = 10_000
MOST_ORDERS = 100
"""In one batch."""
MOST_SLATS = 64
"""Of one model."""
GREATEST_RETENTION = 36_500
"""Days."""
LONGEST_SITE_NUMBER = 100
"""Characters of the number that a site has for an order, and of what a payment is found by."""
LONGEST_SITE_VALUE = 500
MOST_SITE_VALUES = 30
"""Of one order's, that a site keeps with it."""
MOST_VERDICTS = 100
"""Asked for at once."""
