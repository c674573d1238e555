"""What goes with advice to put a hand to a plug or a probe to the header: what is off, and what may not slip."""

HANDS_AT_A_PLUG = "Mains and USB are both out whenever a hand is at a plug."
MEASURE_THE_HEADER = (
    "With mains and USB both out, clip one test lead to the header's ground and one to its supply terminal, so that "
    "nothing slips, and lead both out of the printer.",
    "Close the cover, plug USB back in, and mains where USB does not feed the header. Read the meter outside the "
    "printer; touch nothing inside.",
    "Where that cannot be done without reaching near mains parts, leave it, or let a qualified person do it.",
)
