"""Steps of the check of a sensor of movement."""
