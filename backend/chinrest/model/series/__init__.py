"""The timed series: protocols, their layout on one line, what to take next, and the dye's clock."""
