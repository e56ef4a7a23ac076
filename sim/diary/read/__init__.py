"""Readings from files and services as other people write them."""
