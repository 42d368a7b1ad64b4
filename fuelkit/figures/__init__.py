"""What the crew works out: fuel figures as chains of named steps, checked, and marked fairly."""
