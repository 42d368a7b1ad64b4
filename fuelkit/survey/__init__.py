"""A whole aircraft looked over: a sector for any, its variants, and what can never happen."""
