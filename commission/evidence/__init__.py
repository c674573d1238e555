"""What counts as evidence: every kind of entry and finding as a type, how it is written, and what of it stands.

entry      what every entry has in common: the record it stands in, and what it is about
runs, talk, wire, measured, found    the kinds of entries, by what they tell of
entries    all of them as one tagged union
codec      entry to text and back; every older form is brought up to date on reading
upgrades   the table of older forms
findings/  the kinds of findings, a file a part of the job
standing   the one rule of what counts
"""
