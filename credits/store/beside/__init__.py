"""What is kept beside the log, made of it alone: figures, and the rows of a log on a server."""
