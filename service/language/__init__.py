"""The languages that people are spoken to in: English, which everything is written in, and what catalogues hold of it."""
