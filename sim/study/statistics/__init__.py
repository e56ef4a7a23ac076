"""Intervals, stopping and sampling."""
