"""The sums: brine, salt, drying, air, growth and logger files, as plain functions on plain numbers.

Arguments and results name their unit. Every result carries the formula it came from, with its
source. What no formula covers is refused with the range that is covered, and why.
"""
