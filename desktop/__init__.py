"""The application: what a recording means, shown in a window, on a page and as text."""
