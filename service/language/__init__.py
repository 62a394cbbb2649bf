"""The languages that people are spoken to in: English, in which all is written, and what catalogues hold of it."""
