"""Lesson packets in the window: what to send, what differs, and the students side by side."""
