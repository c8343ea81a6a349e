"""The section map: its values, its edits, its document, and a proposal from what is printed."""
