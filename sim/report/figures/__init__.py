"""Figures and drawings, each with what it says in words."""
