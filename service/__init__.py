"""The service: orders, store, background work, access, mail, the doors."""

VERSION = "0.1.0"
"""Of Slatproof as a whole; stands in the API's document and on job sheets. pyproject.toml reads it here."""
