"""The settings: kept before a reflash, compared after it, put back and saved."""
