"""The live window: what is watched, how it is doing, its alarms, and the way to connect."""
