"""The ways in: REST, command line, Python client. Computes nothing."""
