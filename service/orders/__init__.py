"""The rules of an order, without any IO: values, states, proofs, decisions, the record's chain."""
