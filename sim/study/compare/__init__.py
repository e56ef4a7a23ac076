"""Policies side by side, and the answer in sentences."""
