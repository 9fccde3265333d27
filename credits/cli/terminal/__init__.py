"""What a terminal needs: printing, questions, progress, standard input, the Tab key."""
