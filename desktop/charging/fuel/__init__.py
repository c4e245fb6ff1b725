"""Fuel: what the set burns, what a run cost, what low load costs, and what the tank still holds."""
