"""To be described by its room."""
