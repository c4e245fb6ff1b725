"""The sections of a report: each takes a review and gives a heading with what stands below it, or nothing."""
