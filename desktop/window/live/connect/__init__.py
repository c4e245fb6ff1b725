"""Connecting: an address, what answers there, what it is in the plant, and the site sheet that remembers it."""
