"""The listener beside the page: the piano, what is heard now, the take, the takes of today."""
