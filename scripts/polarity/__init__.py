"""The switches of the simulated loop checks."""
