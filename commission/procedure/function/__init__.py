"""Whether the printer pauses, changes filament and goes on."""
