"""What an aircraft's fuel system is: data files, the frozen record of one, and its checks."""
