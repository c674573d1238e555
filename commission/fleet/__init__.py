"""Many printers at once: the roster that names them, and the overview over all that the book has of them."""
