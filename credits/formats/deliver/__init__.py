"""Files for the title house and for reviews."""
