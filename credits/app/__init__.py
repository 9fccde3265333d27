"""Use cases: what a production can be asked and told. They take plain values and return data."""
