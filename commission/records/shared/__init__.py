"""The shared book: the union of the benches' chains, in PostgreSQL. The extra `shared` brings what it needs."""
