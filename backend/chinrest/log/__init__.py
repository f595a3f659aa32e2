"""The log: event types, the line and its chain, and the folds into cases, incidents and timelines."""
