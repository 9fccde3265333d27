"""Page models become files: one template environment, Markdown, and one exchange of the folder."""
