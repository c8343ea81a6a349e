"""Where in the score a played note belongs: the decoder that follower and matcher share."""
