"""The replay bar."""
