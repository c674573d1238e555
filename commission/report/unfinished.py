"""What is said of a run that did not come to its own end."""

from commission.vocabulary import Outcome

UNFINISHED = {
    Outcome.STOPPED: "The operator stopped this run before its end.",
    Outcome.NOT_CONNECTED: "The printer was never reached in this run.",
    Outcome.LINK_LOST: "The link to the printer was lost before the end of this run.",
    Outcome.INTERRUPTED: "The printer interrupted this run before its end.",
    Outcome.BROKEN_OFF: "The record of this run has no proper end: the program was broken off, or is still at work.",
    Outcome.UNDER_WAY: "The run had not come to its end when this was drawn.",
}
