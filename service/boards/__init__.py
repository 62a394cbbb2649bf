"""What an order takes: boards from a part list, days from minutes."""
