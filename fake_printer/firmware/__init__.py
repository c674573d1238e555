"""What answers on the line.

An object of `core.Firmware` is one life from one power-up to the next; what it holds is the working memory.
"""
