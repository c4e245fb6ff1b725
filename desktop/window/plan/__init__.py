"""Planning for an outage: a form, an outlook worked out beside the window, and its answer."""
