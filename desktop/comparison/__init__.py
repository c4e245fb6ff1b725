"""Two recordings, or two charge sessions, side by side: what changed, and whether by more than chance."""
