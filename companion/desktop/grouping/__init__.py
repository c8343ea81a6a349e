"""Groups of running notes in the window: brackets, fingers, drills."""
