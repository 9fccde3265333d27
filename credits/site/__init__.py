"""Pages that open from disk: models, templates, files."""
