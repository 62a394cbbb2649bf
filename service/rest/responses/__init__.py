"""What the REST door gives back: plain frozen dataclasses, from which JSON and its schema are both made."""
