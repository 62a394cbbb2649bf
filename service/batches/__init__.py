"""Batches: the released art of orders as one archive that can be checked without us.

``content`` says what goes in, ``assemble`` streams the archive, ``verify`` checks one offline. Nothing here
reads a database, a setting or a clock: the same content always gives the same bytes.
"""
