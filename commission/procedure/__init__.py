"""The phases of the job, each a generator that reads top to bottom like its paper procedure and does no I/O."""
