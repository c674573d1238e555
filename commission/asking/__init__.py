"""The vocabulary of a procedure: what it may ask for, what it says, and how a phase is left out or taken up again."""
