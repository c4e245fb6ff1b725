"""The board: the instruments in their places."""
