"""How many small faults put into the program the tests notice; runs by hand, see DEVELOPERS.md."""
