"""What procedures ask, say and establish on simulated units, kept as text, with one answer at a time given otherwise.

The kept files show what changed; a person reads the difference. They prove no rule by themselves. Write them anew with
`python -m tests.procedure.transcripts` after a change that is meant.

A file begins with a run as it usually goes. Below it stands each run with one answer given otherwise, from that answer
to where it goes on as the usual run does. What a run says again, word for word, stands once in its file: further down
only its first line does, with the same mark behind it. A value that takes much room stands with its beginning and a
mark made from the whole of it.
"""
