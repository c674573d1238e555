"""What a wiring makes the input read, sound and with one thing wrong: pure reckoning from what was declared."""
