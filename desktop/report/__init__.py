"""A review as a page to hand over: what was recorded, what happened, why, and what to change.

`page` says what stands on it, as plain strings, tables and pictures; `html` and `pdf` set it.
"""
