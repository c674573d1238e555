"""What a periodic check looks at, and what it judges."""
