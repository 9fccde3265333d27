"""Nothing altered unseen: the chain of seals, the history of the lists, the full check."""
