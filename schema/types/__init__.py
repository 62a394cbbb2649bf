"""The types of the graph. Their fields are read straight off the values of ``service.orders``."""
