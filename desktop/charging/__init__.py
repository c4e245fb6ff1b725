"""Charge sessions, energy, and what follows from them."""
