"""A sensor tried on a socket that the present firmware reads already, before any build for it exists."""
