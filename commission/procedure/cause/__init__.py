"""What is wrong, weighed from what was seen."""
