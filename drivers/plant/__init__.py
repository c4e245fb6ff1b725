"""A simulated household plant: generator, inverter-charger, solar, battery, house and their meters."""
