"""Specification of the simulated printer's wire, bench and process."""
