"""Notes and lessons in the window."""
