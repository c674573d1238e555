"""Takes a procedure's requests, has each fulfilled, and writes both to the book: evidence is written nowhere else."""
