"""From the history of a piece to its readiness, and from takes to the steps of a check."""
