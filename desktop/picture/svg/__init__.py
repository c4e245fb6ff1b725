"""Pictures as SVG: for pages that need no screen and no Qt."""
