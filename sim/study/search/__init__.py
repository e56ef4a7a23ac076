"""Searches over designs and intervals: alternatives, screening, selection, what each step buys."""
