"""What the REST door takes: pydantic models that say what is wrong, and turn into the use cases' commands."""
