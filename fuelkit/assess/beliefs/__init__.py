"""What learners may believe: named misconceptions as models, and which of them answers fit."""
