"""The settings room: meanings, comparison, plausibility and the restore plan."""
