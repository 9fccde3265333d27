"""The command line: one file for each job. The only room that prints."""
