"""The byte pipe to the printer: what it promises, how it is found, opened and lost.

`base` is the contract and imports nothing heavy; `port.make_link` turns an address into a Link; `discover` lists the
ports of this machine and follows one that returns under another name.
"""
