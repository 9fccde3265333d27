"""Two compilations of the credits: their edits, in words, and their causes."""
