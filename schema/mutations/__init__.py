"""Everything that changes something, by subject; each gives a typed outcome."""
