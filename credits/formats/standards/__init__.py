"""Who made what, in open standards."""
