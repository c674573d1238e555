"""The parts of `scripts/walk.py`: somebody who knows only the screen goes through whole commands at a real terminal."""
