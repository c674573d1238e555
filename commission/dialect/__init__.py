"""Bytes to lines to replies to facts, without I/O: the only room that knows the words on the wire."""
