"""The dialog that settles which column of a table is which channel."""
