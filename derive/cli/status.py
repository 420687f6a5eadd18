"""Exit statuses; ``loopwalk --help`` explains them."""

DONE = 0
BAD_CIRCUIT = 1
BAD_USAGE = 2
ENGINE_FAILED = 3
INTERRUPTED = 130
"""128 + SIGINT, as shells have it."""
