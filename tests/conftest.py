"""For all tests."""

import hypothesis

# No stopwatch in tests: on a busy machine an example may take long and still be right.
hypothesis.settings.register_profile("companion", deadline=None)
hypothesis.settings.load_profile("companion")
