"""The independent checker."""
