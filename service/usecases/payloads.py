"""What a job's payload says of how it is to be done, besides what it is about."""

from __future__ import annotations

PATIENT = "patient"
"""In a job's payload: it is the second try, which may take as long as any."""
TURN = "turn"
"""In a job's payload: how much of its kind the order asked for before it within the hour."""
CROWDED = "crowded"
"""In a job's payload: the workshop had much under way when it was asked for."""
CROWD = 4
"""Pieces of one workshop's work under way from which on further ones let all else on the machine go first."""
WHENCE = "whence"
"""In a job's payload: a digest of the network that a stranger's file came from; work that follows from it keeps it."""
OVER_SHARE = "over-share"
"""In a job's payload: the workshop had asked for more than its host does in usual order."""
FIRST_IN_A_RUSH = 1
"""Turn from which on an order's work has places of its own and lets others' first go first."""
