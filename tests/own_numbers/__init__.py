"""A shop's own numbers and the programs it runs, tried on simulated shops and on many programs."""
