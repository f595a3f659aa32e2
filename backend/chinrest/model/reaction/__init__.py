"""Signs of a reaction: criteria that only ever escalate while it runs, classes on named scales after it is
closed."""
