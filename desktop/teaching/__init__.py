"""Teaching with a recording: notes that are tied to its moments, and lessons that ask what happens next."""
