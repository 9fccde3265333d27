"""Lists as they come in: files loaded, rows put right, blank tables."""
