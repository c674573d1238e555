"""The steps by which the shared book's tables are made and brought up to date; forward only, run by `prepare`."""
