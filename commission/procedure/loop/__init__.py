"""From the filament to the reading and back, and what a broken wire reads."""
