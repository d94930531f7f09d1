"""What the process's exit codes mean."""

DONE, NOT_MAKEABLE, INTERRUPTED, PIPE_CLOSED = 0, 1, 130, 141
"""Exit codes beside those that errors carry; the last two are what a shell reports for the signals."""
