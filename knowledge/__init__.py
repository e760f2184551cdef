"""What the trade knows, as data."""
