"""How wide and high every bar is, and the systems of a plan drawn as display lists."""
