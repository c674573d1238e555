"""The report of a run, drawn from the record book and from nothing else."""
