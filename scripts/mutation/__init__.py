"""Single mutations of the tool's own code, tried against the tests of its room."""
