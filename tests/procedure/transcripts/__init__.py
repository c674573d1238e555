"""What procedures ask, say and establish on simulated units, kept as text, with one answer at a time given otherwise.

The kept files show what changed; a person reads the difference. They prove no rule by themselves. Write them anew with
`python -m tests.procedure.transcripts` after a change that is meant.

A file begins with a run as it usually goes. Below it stands each run with one answer given otherwise, from that answer
to where it goes on as the usual run does: what comes next in full, and later only what is put into the record. What is
said again, word for word, stands once in its file: further down only its first line does, with the same mark behind it.
What takes much room, or lies between, stands by its beginning or its number, and by a mark made from the whole of it.
"""
