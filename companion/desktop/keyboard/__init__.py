"""A piano keyboard on the screen, for the mouse and for the letters of the computer keyboard."""
