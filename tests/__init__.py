"""The specification of the project, in tests."""
