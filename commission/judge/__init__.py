"""Pure arithmetic: what follows from counts, readings and lengths, and how strongly. No I/O, no clock, no screen."""
