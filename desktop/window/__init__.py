"""The window: shows a review, and computes nothing that a review should hold."""
