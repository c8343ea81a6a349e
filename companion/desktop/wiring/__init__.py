"""What happens when: each module joins the parts of the window for one subject."""
