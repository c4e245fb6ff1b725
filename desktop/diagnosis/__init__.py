"""Findings: what is wrong, since when, why, and what to do."""
