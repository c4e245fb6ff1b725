"""Register maps: what the registers of a device mean that doesn't describe itself."""
