"""One verb per function: the only code that changes anything."""
