"""The kinds of runs by which a printer is tested, as they stand in the book."""

INSTALL, BRIEF_CHECK, FULL_CHECK, CONDITION_CHECK = "install", "brief check", "full check", "condition check"
FUNCTION_TEST = "function"
MOTION = "motion"
HANDS_ON = (INSTALL, BRIEF_CHECK, FULL_CHECK)
"""A person works the sensor in them."""
COMPLETE_TESTS = (INSTALL, FULL_CHECK)
"""Everything is tested in them."""
