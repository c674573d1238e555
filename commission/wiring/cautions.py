"""What goes with advice to put a hand to a plug or a probe to the header: what is off, and what may not slip."""

HANDS_AT_A_PLUG = "Hands go to the connector only with mains and USB both out."
MEASURE_THE_HEADER = (
    "To measure the header: with mains and USB both out, clip one test lead to its ground and one to its supply "
    "terminal, so that nothing slips, and lead both out of the printer.",
    "Close the cover before the power comes back, read the meter outside, and touch nothing inside.",
    "Where that cannot be done without reaching near mains parts, leave it, or let a qualified person do it.",
)
