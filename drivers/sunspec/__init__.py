"""SunSpec: devices that describe themselves by a chain of information models."""
