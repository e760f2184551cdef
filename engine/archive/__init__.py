"""Wheels over time: makes, wheels, looks and outcomes in one SQLite file, and what is learnt from them.

Nothing here reads a clock or looks for a home folder: dates, times and paths are arguments. Dates are
text, ``YYYY-MM-DD``; times are text in ISO 8601.
"""
