"""The sums as commands."""
