"""A simulated household plant: generator, sun, grid, inverter-charger, battery and house, and meters that err."""
