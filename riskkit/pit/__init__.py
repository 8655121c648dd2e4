"""The pit: room for water, pump and pipe, and the level through a storm."""
