"""The credit plan as a file."""

FILE_NAME = "credit-plan.toml"
"""What a production calls its own plan."""
