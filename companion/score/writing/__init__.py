"""Writing what was decided about a piece back into its score, for other notation programs."""
