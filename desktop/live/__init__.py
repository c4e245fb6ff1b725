"""A live system: its source, its growing review, and its recording on disk. Without Qt."""
