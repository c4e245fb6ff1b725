"""A recording taken along: with its sheet, notes and report in one zip file, which is opened like a recording."""
