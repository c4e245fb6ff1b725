"""What is open against another recording, or one of its charge sessions against another."""
