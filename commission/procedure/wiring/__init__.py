"""How the sensor is wired, what may be on its input, and what a meter and the eye find before it is plugged in."""
