"""Some days of one run, step by step."""
