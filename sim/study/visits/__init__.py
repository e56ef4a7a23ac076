"""A year's service visits as calendar and sheets."""
