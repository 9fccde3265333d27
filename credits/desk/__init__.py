"""The desk: a local page in the browser on which the day is logged. It has no rule of its own."""
