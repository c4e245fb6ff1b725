"""What was measured: the channel vocabulary, the recording store, CSV in and out, demo recordings."""
