"""The flow diagram as a widget."""
