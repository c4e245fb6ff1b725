"""The procedure of a charge by generator: its steps, and how far along the readings show it to be."""
