"""Exact algebra: terms as the reader sees them, and the engine that reckons with them."""
