"""The order of the phases of each command."""
