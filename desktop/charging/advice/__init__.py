"""What the AC input limit should be here: the house's recorded load replayed under every setting."""
