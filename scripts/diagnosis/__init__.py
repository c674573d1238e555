"""The parts of the simulated diagnoses: units, loop checks, and figures."""
