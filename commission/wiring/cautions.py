"""What goes with advice to put a hand to a plug or a probe to the header: what is off, and what may not slip."""

HANDS_AT_A_PLUG = "Mains and USB are both out whenever a hand is at a plug."
MEASURE_THE_HEADER = (
    "The header is measured with power on: one probe on its ground, one on its supply terminal, and nothing slips.",
    "Where that cannot be done without reaching near mains parts, leave it, or let a qualified person do it.",
)
