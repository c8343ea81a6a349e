"""The pages of the window that need no folder of their own."""
