"""The operations of the REST door by subject; each module holds one part of the table."""
