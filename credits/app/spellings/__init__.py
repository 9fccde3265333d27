"""How names are spelled: sheets that ask, and who has confirmed."""
