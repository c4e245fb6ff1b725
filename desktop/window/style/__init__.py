"""Theme, fonts, and telling widgets of their change."""
