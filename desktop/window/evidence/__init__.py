"""Looking into what was found: causes, meters, settings, the limit, battery and fuel, each on a page of its own."""
