"""Quantities with units, bounds and grades, and the ranges in which numbers are believed."""
