"""The engines that keep a log: all that one of them does otherwise than another."""
