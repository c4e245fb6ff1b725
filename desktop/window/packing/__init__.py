"""What is open, put into one file to take along."""
