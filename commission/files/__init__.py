"""Files that the tool writes for a person: who made one that is there, and how one is written or replaced."""
