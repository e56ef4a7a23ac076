"""The train of a house as a line drawing."""
