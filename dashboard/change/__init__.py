"""Changing a site on a page: values, policies, and what changed."""
