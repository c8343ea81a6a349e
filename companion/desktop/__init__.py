"""The window. PySide6 is imported here and in ``companion.app`` only."""
