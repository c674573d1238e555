"""Which printer it is, how it is found, whose word is taken, and when it is looked at again."""
