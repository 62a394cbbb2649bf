"""The service: orders, store, background work, access, mail, the doors."""
