"""How many hours, how much fuel, how many days: the plant carried on over many days drawn from recorded ones."""
