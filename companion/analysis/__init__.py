"""What the written music is: harmony, worked out from the notes. Nothing that was played."""
