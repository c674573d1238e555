"""What answers on the line. An object of `core.Firmware` is one life from power-up to the next: its memory is the RAM."""
