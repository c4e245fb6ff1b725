"""Charts of what was found, as plain numbers: what is drawn on which axes, without a screen."""
