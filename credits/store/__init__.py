"""The store: the log of a production. The only room that knows SQL."""
