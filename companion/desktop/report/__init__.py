"""The report for the teacher on paper, and the sheet that asks what it shall say."""
