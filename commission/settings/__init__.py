"""What a printer's settings mean, how two reports of them differ, and what may be put back. Nothing is sent here."""
