"""The end credits: the plan, who stands where, proofs and the roll."""
