"""Trends: curves in stacked panes on one time axis."""
