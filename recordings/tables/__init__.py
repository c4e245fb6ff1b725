"""Recordings as text files: reading tables of unknown make, writing our own."""
