"""What the command line does, a file for each command."""
