"""How the window looks: three looks, set by the program itself."""
