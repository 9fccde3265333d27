"""The parts of the example production: who, what, when, and the questions left open."""
