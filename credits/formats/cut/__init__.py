"""The editors' cut, as files."""
