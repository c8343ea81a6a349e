"""Which piece of the shelf is being played."""
