"""The forecast of a charge: when a state of charge will be reached, and when the tank will be empty."""
