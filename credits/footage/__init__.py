"""Who shot which frames on which day, what the cut uses of them, and the five measures."""
