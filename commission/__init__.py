"""Guided commissioning and periodic proof test of a filament-presence sensor over a printer's serial console."""
