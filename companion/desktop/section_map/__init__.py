"""The section map on the screen: drawn to scale, edited by hand, always in sight."""
