"""The dialog that edits a site sheet."""
