"""Finding out what is behind an address: only there, and only by reading."""
