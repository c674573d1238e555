"""Reading sources: where a filament sensor can be read, what each kind proves, and how it is asked on which family."""
