"""The commands of `headrace`, one module each. A module is imported only when its command is run."""
