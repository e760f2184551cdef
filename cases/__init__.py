"""Worked cases and published investigations, as data."""
