"""The page of the readiness: how likely a run without a stop is, and a guided check of it."""
