"""Design figures of a site without running it."""
