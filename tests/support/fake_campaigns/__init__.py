"""Fake campaigns: they try nothing, and come to what their names say."""
