"""The record book: everything that happened, appended entry by entry and chained by digest."""
