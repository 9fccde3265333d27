"""Tables as CSV files and workbooks: read, checked, and matched with the log."""
