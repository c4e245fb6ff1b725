"""The site sheet as something to be edited: what its keys mean, and changes that keep comments and order."""
