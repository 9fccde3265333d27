"""The credit plan as a file."""
