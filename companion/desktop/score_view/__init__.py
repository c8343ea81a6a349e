"""The engraved score in the window: pages, the place being played, pencil marks."""
