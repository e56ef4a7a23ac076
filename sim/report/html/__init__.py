"""Reports, handouts and sheets as single files."""
