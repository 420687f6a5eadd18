"""Loopwalk: complete, checked, typeset solutions of direct-current circuits."""

__version__ = "0.1.0"
