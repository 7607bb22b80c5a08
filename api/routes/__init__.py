"""One module a group of resources."""
