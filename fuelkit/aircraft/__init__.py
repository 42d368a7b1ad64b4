"""What an aircraft's fuel system is: data files, the frozen record made from one, and its checks."""
