"""Why it happened: what came before each urgent finding, in order, each with its time and number."""
