"""What is drawn, worked out as plain shapes and numbers. Nothing here knows how it is painted."""
