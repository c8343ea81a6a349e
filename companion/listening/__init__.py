"""What is played against what is written: the follower, the matching, the measures."""
