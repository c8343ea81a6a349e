"""The engraved page as plain shapes: the engraver is behind this door and nowhere else."""
