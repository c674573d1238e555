"""What goes with advice to put a hand to a plug or a probe to the header: what is off, and what may not slip."""

HANDS_AT_A_PLUG = "Hands go to the connector only with mains and USB both out."
MEASURE_THE_HEADER = (
    "To measure the header: with mains and USB both out, clip one test lead to its ground and one to its supply "
    "terminal, so that nothing slips, and lead both out of the printer.",
    "Leave the mains plug out and plug only the USB cable in. Read the meter outside, and touch nothing inside.",
    "A board that USB does not power needs mains for this: close the cover before the mains plug goes in.",
    "Where that cannot be done without reaching near mains parts, leave it, or let a qualified person do it.",
)
