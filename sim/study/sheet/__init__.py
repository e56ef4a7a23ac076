"""The design sheet of a site: criteria, runs and a year of work on a few pages to print and to sign."""
