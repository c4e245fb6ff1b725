"""Small widgets that the rest of the window is made of."""
