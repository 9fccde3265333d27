"""Page models: one per template, frozen plain data, cut to an edition. Nothing else is shown."""
