"""A learner's own record of what was predicted right at the first try, and what it is good for."""
