"""How long a test waits, in real seconds, for something that is bound to come.

Only a test in which something is broken waits so long; one on a machine with ten times too much to do does not. It is
a little less than the limit on a whole test (`timeout` in pyproject.toml), so that the test still says what never came.
"""

PATIENCE_S = 540.0
