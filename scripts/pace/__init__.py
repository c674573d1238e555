"""The parts of the simulated pace: the plans, floating inputs, and hands."""
