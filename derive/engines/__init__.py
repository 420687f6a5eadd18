"""Engines that turn written text into pages; the only effects besides the command line."""
