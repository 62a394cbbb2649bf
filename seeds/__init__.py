"""A made-up workshop to try the service with."""
