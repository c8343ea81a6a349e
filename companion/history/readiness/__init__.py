"""Whether the piece is ready: how likely a run without a stop is, and the check of it."""
