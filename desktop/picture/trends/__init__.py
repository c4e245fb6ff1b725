"""Curves over time, as far as they can be worked out without a screen."""
