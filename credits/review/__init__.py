"""One animator's figures, with their context."""
