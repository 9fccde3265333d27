"""What cannot be right, what somebody must answer, and the answers."""
